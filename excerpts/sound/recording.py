"""A performance as a wave: its notes one by one, in a short room, at one loudness.

Clicks and the drone have their own levels: the music is brought to -20 LUFS (AES TD1004 recommends -16 to -20), and
nothing goes above -3 dB true peak, with half a decibel left for what a coder adds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from excerpts.errors import InputError
from excerpts.excerpt import Tempo
from excerpts.sound.filters import limit, loudness, put_in_room, true_peak
from excerpts.sound.performance import Performance, Struck, Take
from excerpts.sound.playback import Course, Playback, course
from excerpts.sound.tone import DRONE_FADE, RATE, Wave, bowed, click, drone, frequency, plucked, samples

LOUDNESS: Final = -20.0
"""Loudness of the music in LUFS."""

_PEAK: Final = 10 ** (-3.5 / 20)
_LIMIT: Final = 10 ** (6 / 20)
"""How much higher a few points may be before they are turned down."""

_CLICK: Final = 10 ** (-12 / 20)
_DRONE: Final = -31.0
"""LUFS of a drone under music."""

TAIL: Final = 0.5
"""Seconds at the end of a file in which the last note dies away."""

LONGEST: Final = 30 * 60
"""Seconds of music that are held in memory at once."""

_BLOCK: Final = 20 * RATE


@dataclass(frozen=True, slots=True)
class Recording:
    """A file's worth of sound, to be mixed.

    Attributes:
        pieces: Waves with the sample that each begins at, and their gains.
        drone: Hertz and gain of the note that is held; None for none.
        samples: How long it is.
    """

    pieces: tuple[tuple[int, Wave, float], ...]
    drone: tuple[float, float] | None
    samples: int

    @property
    def seconds(self) -> float:
        """How long it is."""
        return self.samples / RATE

    def blocks(self) -> Iterator[Wave]:
        """The sound, piece by piece."""
        for start in range(0, self.samples, _BLOCK):
            block = np.zeros(min(_BLOCK, self.samples - start), dtype=np.float32)
            for at, wave, gain in self.pieces:
                first, last = max(at, start), min(at + len(wave), start + len(block))
                if first < last:
                    block[first - start : last - start] += np.float32(gain) * wave[first - at : last - at]
            if self.drone is not None:
                hertz, gain = self.drone
                block += np.float32(gain) * drone(hertz, start, len(block), self.samples)
            yield block


def record(
    performance: Performance, playback: Playback, tempo: Tempo | None = None, gain: float | None = None
) -> Recording:
    """Play a performance.

    Args:
        performance: What is played.
        playback: How it is played.
        tempo: Its tempo; that of the score when left out.
        gain: What its music is multiplied with, where several files are to be alike; see `gain_of`.

    Raises:
        InputError: No note sounds, or it is too long.
    """
    take = performance.at(tempo)
    plan = course(performance, take, tempo, playback)
    waves = _waves(take, plan, playback)
    gain = gain if gain is not None else _gain(list(waves.values()), playback, bool(plan.clicks))
    room = _room(playback, bool(plan.clicks))
    for wave in waves.values():
        wave *= np.float32(gain)
        limit(wave, room)
    pieces = [(_sample(span.at), waves[span.start, span.end], 1.0) for span in plan.spans if not span.silent]
    pieces += [(_sample(time), click(strong), _CLICK) for time, strong in plan.clicks]
    return Recording(tuple(pieces), _drone(playback), _sample(plan.length) + samples(TAIL))


def gain_of(performance: Performance, playback: Playback, tempo: Tempo | None) -> float:
    """What music is multiplied with so that it has the loudness of all files."""
    take = performance.at(tempo)
    plan = course(performance, take, tempo, playback)
    return _gain(list(_waves(take, plan, playback).values()), playback, bool(plan.clicks))


def _sample(seconds: Fraction) -> int:
    return round(seconds * RATE)


def _waves(take: Take, plan: Course, playback: Playback) -> dict[tuple[Fraction, Fraction], Wave]:
    """The music of each stretch by its start and end, in its room."""
    _check(take, playback)
    asked = dict.fromkeys((span.start, span.end) for span in plan.spans if not span.silent)
    waves = {(start, end): dry(take, playback, start, end) for start, end in asked}
    for wave in waves.values():
        put_in_room(wave)
    return waves


def _check(take: Take, playback: Playback) -> None:
    if not any(_gain_of_part(take, note, playback) for note in take.notes):
        raise InputError(
            "there is no note to play in these bars.", hint="Check that bars and part are right."
        )
    seconds = take.tempos.seconds(take.length)
    if seconds > LONGEST:
        raise InputError(
            f"these bars last {float(seconds) / 60:.0f} minutes at this tempo, and a sound file holds at most"
            f" {LONGEST // 60} minutes of music.",
            hint="Take fewer bars, or a faster tempo.",
        )


def dry(take: Take, playback: Playback, start: Fraction, end: Fraction) -> Wave:
    """The notes that begin between two times, without the room.

    Args:
        take: What is played.
        playback: How it is tuned and balanced.
        start: Where to begin, in quarter notes.
        end: Where to end: what sounds longer is let go there.
    """
    origin, last = take.tempos.seconds(start), take.tempos.seconds(end)
    wave = np.zeros(_sample(last - origin) + samples(TAIL), dtype=np.float32)
    joined: set[tuple[int, Fraction]] = set()
    for note in take.notes:
        if not start <= note.onset < end:
            continue
        part = _gain_of_part(take, note, playback)
        if part:
            tone = _tone(take, note, playback, last, (note.voice, note.onset) in joined)
            at = _sample(take.tempos.seconds(note.onset) - origin)
            room = wave[at : at + len(tone)]
            room += np.float32(part) * tone[: len(room)]
        if note.articulation == "slurred":
            joined.add((note.voice, note.onset + note.length))
    return wave


def _tone(take: Take, note: Struck, playback: Playback, last: Fraction, joined: bool) -> Wave:
    begin = take.tempos.seconds(note.onset)
    length = float(min(take.tempos.seconds(note.onset + note.length), last) - begin)
    hertz = frequency(playback.tuned(note.pitch), playback.a)
    times = [float(take.tempos.seconds(note.onset + time) - begin) for time, _ in note.levels]
    levels = [level for _, level in note.levels]
    if len(levels) > 1:
        curve = np.interp(np.arange(samples(length)) / RATE, times, levels)
    else:
        curve = np.array(levels)
    gain = (0.1 * 10 ** (curve / 20)).astype(np.float32)
    return (
        plucked(hertz, length, gain) if note.kind == "plucked" else bowed(hertz, length, gain, joined=joined)
    )


def _gain_of_part(take: Take, note: Struck, playback: Playback) -> float:
    decibels = dict(playback.gains).get(take.players[note.voice].place, 0.0)
    return 0.0 if decibels is None else float(10 ** (decibels / 20))


def _gain(waves: list[Wave], playback: Playback, clicks: bool) -> float:
    """To the loudness of all files, unless a peak is far above it; what is too short to measure goes by its peak."""
    peak = max(map(true_peak, waves), default=0.0)
    lufs = loudness(waves) if sum(map(len, waves)) >= 3 * RATE else -np.inf
    most = _room(playback, clicks) / max(peak, 1e-9)
    return float(min(10 ** ((LOUDNESS - lufs) / 20), most * _LIMIT) if np.isfinite(lufs) else most)


def _room(playback: Playback, clicks: bool) -> float:
    """How high the music may go, beside what else sounds."""
    held = _drone(playback)
    return _PEAK - (_CLICK if clicks else 0.0) - (2 * held[1] if held else 0.0)


def _drone(playback: Playback) -> tuple[float, float] | None:
    """Hertz and gain of the drone."""
    if playback.drone is None:
        return None
    hertz = frequency(float(playback.drone.midi), playback.a)
    return hertz, float(10 ** ((_DRONE - held_loudness(hertz)) / 20))


def held_loudness(hertz: float) -> float:
    """Loudness in LUFS of a drone before its gain."""
    return loudness([drone(hertz, samples(DRONE_FADE), 2 * RATE, 4 * RATE)])
