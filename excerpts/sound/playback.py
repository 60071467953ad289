"""How a sound file is to be played: what clicks, what is repeated, what it is tuned to; and its course in seconds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import log2
from typing import Final, Literal

from excerpts.errors import InputError, WarmupError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.instruments.keys import Key, key_of_fifths, parse_root
from excerpts.instruments.staff import parse_pitch
from excerpts.musicxml.pitch import Pitch
from excerpts.notes.in_force import key_at_box
from excerpts.sound.clicks import ClickStyle, clicks_of, count_in_length
from excerpts.sound.performance import Performance, Take

Intonation = Literal["equal", "pure"]

LOWEST_A, HIGHEST_A = 390, 470

_PURE: Final = tuple(
    Fraction(above, below)
    for above, below in (
        (1, 1), (16, 15), (9, 8), (6, 5), (5, 4), (4, 3), (45, 32), (3, 2), (8, 5), (5, 3), (9, 5), (15, 8),
    )
)  # fmt: skip
"""Ratios of pure intervals by semitones (five-limit just intonation, as acoustics books have it)."""


_LOWEST_DRONE: Final = 55
"""G3: where no octave is told, a drone lies between it and F#4, which a telephone's loudspeaker gives back."""

_PIANO: Final = range(21, 109)
"""MIDI numbers from A0 to C8: the notes that a drone can be."""


def drone_note(excerpt: Excerpt, text: str) -> Pitch:
    """The note of a drone.

    Args:
        excerpt: The music, for its tonic.
        text: A note with or without its octave ("D", "Eb3"); "" for the tonic.

    Raises:
        InputError: It is no such note, or the music has no key.
    """
    if text and text[-1].isdigit():
        pitch = parse_pitch(text)
        if pitch.midi not in _PIANO:
            raise InputError(f"{text} is no note for a drone.", hint="Choose one from A0 to C8.")
        return pitch
    try:
        key = parse_root(text) if text else tonic_of(excerpt)
    except WarmupError as error:
        raise InputError(f"'{text}' is no note for a drone.", hint="Write D, Eb or F#3, or tonic.") from error
    return drone_of_key(key)


def drone_of_key(key: Key) -> Pitch:
    """The tonic of a key where a drone lies when no octave is told."""
    return next(key.tonic(octave) for octave in (2, 3, 4, 5) if key.tonic(octave).midi >= _LOWEST_DRONE)


def tonic_of(excerpt: Excerpt) -> Key:
    """The key at the start of the box, as its signature says it; major where the file does not say which.

    Raises:
        InputError: There is no signature of sharps or flats.
    """
    written = key_at_box(excerpt)
    if written is None or abs(written.fifths) > 7:
        raise InputError("there is no key signature to find the tonic by.", hint="Name the note: --drone D.")
    return key_of_fifths(written.fifths, "minor" if written.mode == "minor" else "major")


@dataclass(frozen=True, slots=True)
class Playback:
    """How a sound file is played.

    Attributes:
        click: Which beats click; None for none.
        count_in: Bars of clicks before it, and the beats of a bar that it begins late in.
        times: How often it is played.
        repeats: Repeat signs and endings are played.
        gap: So many bars are played, then there are as many to play oneself; 0 for none.
        drone: A note that is held all the way.
        intonation: Equal, or pure over the drone.
        a: Hertz of A4.
        gains: Decibels of single parts by their places, from 0; None leaves a part out.
    """

    click: ClickStyle | None = None
    count_in: int = 0
    times: int = 1
    repeats: bool = False
    gap: int = 0
    drone: Pitch | None = None
    intonation: Intonation = "equal"
    a: int = 440
    gains: tuple[tuple[int, float | None], ...] = ()

    def __post_init__(self) -> None:
        if not LOWEST_A <= self.a <= HIGHEST_A:
            raise InputError(f"A at {self.a} hertz is not between {LOWEST_A} and {HIGHEST_A}.")

    @property
    def told(self) -> str:
        """What a title says of it: its drone and how it is tuned."""
        if self.drone is None:
            return ""
        return f"{self.intonation} over {str(self.drone).rstrip('0123456789')}"

    def tuned(self, pitch: Fraction) -> float:
        """The MIDI number at which a note sounds, in fractions where it is pure."""
        if self.intonation == "equal" or self.drone is None:
            return float(pitch)
        octaves, step = divmod(round(pitch - self.drone.midi), 12)
        bent = float(pitch - self.drone.midi) - (12 * octaves + step)
        return float(self.drone.midi) + 12 * (octaves + log2(_PURE[step])) + bent


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the music in a file.

    Attributes:
        at: Where it begins in the file, in seconds.
        start: Where it begins in the performance, in quarter notes.
        end: Where it ends there.
        silent: It is left to the player.
    """

    at: Fraction
    start: Fraction
    end: Fraction
    silent: bool


@dataclass(frozen=True, slots=True)
class Course:
    """What comes when in a file.

    Attributes:
        spans: The stretches of music.
        clicks: Times of the clicks in seconds, and whether each is the first of its bar.
        length: How long it is in seconds.
    """

    spans: tuple[Span, ...]
    clicks: tuple[tuple[Fraction, bool], ...]
    length: Fraction


def course(performance: Performance, take: Take, tempo: Tempo | None, playback: Playback) -> Course:
    """Lay out a file.

    Args:
        performance: What is played.
        take: It at its tempo.
        tempo: The tempo, whose beat clicks; that of the metre when left out.
        playback: How it is played.
    """
    spans: list[Span] = []
    clicks: list[tuple[Fraction, bool]] = []
    now = Fraction(0)
    line, origin = performance.line, performance.start
    for _ in range(playback.times):
        if line is not None and playback.count_in:
            beat = 60 / take.tempos.first
            before = count_in_length(line, origin, playback.count_in)
            counted = clicks_of(line, origin, origin, before, tempo, None)
            clicks += [(now + one.time * beat, one.strong) for one in counted]
            now += before * beat
        for start, end in _phrases(performance, playback):
            for silent in (False, True) if playback.gap else (False,):
                spans.append(Span(now, start, end, silent))
                style = playback.click or ("every" if silent else None)
                beats = (
                    clicks_of(line, origin + start, origin + end, Fraction(0), tempo, style) if line else []
                )
                first = take.tempos.seconds(start)
                clicks += [(now + take.tempos.seconds(start + one.time) - first, one.strong) for one in beats]
                now += take.tempos.seconds(end) - take.tempos.seconds(start)
    return Course(tuple(spans), tuple(clicks), now)


def _phrases(performance: Performance, playback: Playback) -> Iterator[tuple[Fraction, Fraction]]:
    """The stretches of the music, each in phrases of so many bars; a pick-up belongs to the first."""
    whole = ((Fraction(0), performance.length),)
    line, bars = performance.line, playback.gap
    for start, end in performance.stretches if playback.repeats else whole:
        inside = [bar for bar in line.bars if start <= bar.start - performance.start < end] if line else []
        pickup = len(inside) > 1 and inside[0].length < inside[1].length
        starts = [bar.start - performance.start for bar in inside[pickup + bars :: bars]] if bars else []
        yield from pairwise([start, *(time for time in starts if time > start), end])
