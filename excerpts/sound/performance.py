"""A performance: the notes of an excerpt as they are struck, in no tempo yet, and as they sound at one tempo.

MIDI files, sound files and pages read it. Times are exact, in quarter notes from where the performance begins.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any, Final, Literal

from excerpts.excerpt import Tempo
from excerpts.notes import Voice
from excerpts.sound.levels import Levels, part_of_levels
from excerpts.sound.played_ornaments import Figure
from excerpts.sound.playing_rules import TOUCHES
from excerpts.sound.repeats import Stretches

FORMAT: Final = 1
"""Version of the JSON form."""

Kind = Literal["bowed", "plucked"]


@dataclass(frozen=True, slots=True)
class Struck:
    """A note as it is struck: ties joined, its ornament still a sign.

    Attributes:
        voice: Which of the voices plays it, from 0.
        onset: When it begins.
        length: The time that it has, up to where the next note may begin.
        pitch: MIDI number of what sounds; a fraction for microtones.
        levels: How loud it is.
        kind: Bowed or plucked.
        articulation: How it ends: a key of `TOUCHES`.
        figure: What is made of it, where it has an ornament.
    """

    voice: int
    onset: Fraction
    length: Fraction
    pitch: Fraction
    levels: Levels
    kind: Kind = "bowed"
    articulation: str = "separate"
    figure: Figure | None = None


@dataclass(frozen=True, slots=True)
class Player:
    """Who plays a voice.

    Attributes:
        place: Which of the parts that are played it is, from 0.
        part: Its name.
        program: General MIDI program of its instrument, from 0.
    """

    place: int
    part: str
    program: int


@dataclass(frozen=True, slots=True)
class TempoMap:
    """The tempos of a performance.

    Attributes:
        changes: Quarter notes a minute with the time from which they hold, the first at 0.
        first: The tempo that is told at the start, whether or not a pause holds it up there.
    """

    changes: tuple[tuple[Fraction, Fraction], ...]
    first: Fraction

    def at(self, time: Fraction) -> Fraction:
        """Quarter notes a minute at a time."""
        return self.changes[max(0, bisect_right([start for start, _ in self.changes], time) - 1)][1]

    def seconds(self, time: Fraction) -> Fraction:
        """Seconds from the start to a time, which may lie before it."""
        total = Fraction(0)
        for (start, quarters), (end, _) in pairwise(self.changes):
            if time <= end:
                return total + (time - start) * 60 / quarters
            total += (end - start) * 60 / quarters
        start, quarters = self.changes[-1]
        return total + (time - start) * 60 / quarters

    def scaled(self, tempo: Tempo | None) -> TempoMap:
        """The same in the proportion that makes the first tempo another one."""
        if tempo is None:
            return self
        factor = tempo.quarters_per_minute / self.first
        changes = tuple((time, quarters * factor) for time, quarters in self.changes)
        return TempoMap(changes, tempo.quarters_per_minute)


@dataclass(frozen=True, slots=True)
class Take:
    """A performance at one tempo.

    Attributes:
        notes: What sounds: every note of an ornament one of its own, each as long as it sounds.
        tempos: Its tempos.
        length: How long it is.
        players: Who plays each voice.
    """

    notes: tuple[Struck, ...]
    tempos: TempoMap
    length: Fraction
    players: tuple[Player, ...]

    def as_json(self) -> dict[str, Any]:
        """It as plain values: times as fractions in text, levels in decibels from mezzo forte."""
        return {
            "format": FORMAT,
            "length": str(self.length),
            "tempos": [{"onset": str(time), "quarters": str(number)} for time, number in self.tempos.changes],
            "players": [{"part": one.part, "program": one.program} for one in self.players],
            "notes": [_note_json(note) for note in self.notes],
        }


def _note_json(note: Struck) -> dict[str, Any]:
    key = round(note.pitch)
    return {
        "player": note.voice,
        "onset": str(note.onset),
        "length": str(note.length),
        "key": key,
        "cents": float(100 * (note.pitch - key)),
        "levels": [[str(time), round(level, 3)] for time, level in note.levels],
        "kind": note.kind,
        "articulation": note.articulation,
    }


@dataclass(frozen=True, slots=True)
class Performance:
    """The notes of an excerpt or of its box, at no tempo yet.

    Attributes:
        notes: The notes in order of time, those of all voices.
        tempos: The tempos of the score; a pause is a slower tempo.
        length: How long it is.
        players: Who plays each voice.
        line: A line of the first part, which tells the metres; None where there is none.
        start: Where in that line the performance begins.
        stretches: What is played one after the other when repeats are taken.
        unplayed: What is written and not played, a sentence each.
    """

    notes: tuple[Struck, ...]
    tempos: TempoMap
    length: Fraction
    players: tuple[Player, ...]
    line: Voice | None = None
    start: Fraction = Fraction(0)
    stretches: Stretches = ()
    unplayed: tuple[str, ...] = ()

    def at(self, tempo: Tempo | None = None) -> Take:
        """How it sounds at a tempo.

        Args:
            tempo: The tempo to start at, all later ones in proportion; that of the score when left out.
        """
        tempos = self.tempos.scaled(tempo)
        notes = tuple(
            _ended(part, tempos) for note in self.notes for part in _resolved(note, tempos.at(note.onset))
        )
        return Take(notes, tempos, self.length, self.players)


def _resolved(note: Struck, quarters: Fraction) -> list[Struck]:
    """The notes that an ornament is played as; all but the last lead on into the next."""
    if note.figure is None:
        return [note]
    strokes = note.figure.strokes(note.length, quarters)
    last = len(strokes) - 1
    return [
        replace(
            note,
            onset=note.onset + start,
            length=end - start,
            pitch=note.pitch + interval,
            levels=part_of_levels(note.levels, start, end),
            articulation=note.articulation if place == last else note.figure.articulation,
            figure=None,
        )
        for place, (start, end, interval) in enumerate(strokes)
    ]


def _ended(note: Struck, tempos: TempoMap) -> Struck:
    """A note without the silence at its end."""
    gap = TOUCHES[note.articulation].gap(note.length, tempos.at(note.onset))
    return replace(note, length=note.length - gap) if gap else note
