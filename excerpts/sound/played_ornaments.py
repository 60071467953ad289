"""Ornaments and tremolos: what is written at a note, and the notes that it is played as."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from excerpts.musicxml.elements import BeatUnit, Ornament
from excerpts.musicxml.pitch import SIGNS, STEPS, Pitch
from excerpts.notes import Event, Head, Notation
from excerpts.sound.playing_rules import TREMOLO_FASTEST, TRILL, UNMEASURED

Strokes = list[tuple[Fraction, Fraction, Fraction]]
"""Start and end of each note in quarter notes from the start of the ornament, and its interval in semitones."""

_TURNS: Final = {
    "mordent": (0, -1, 0),
    "inverted-mordent": (0, 1, 0),
    "turn": (1, 0, -1, 0),
    "inverted-turn": (-1, 0, 1, 0),
    "vertical-turn": (1, 0, -1, 0),
    "inverted-vertical-turn": (-1, 0, 1, 0),
    "delayed-turn": (0, 1, 0, -1, 0),
    "delayed-inverted-turn": (0, -1, 0, 1, 0),
}
"""The notes of short ornaments: 1 the note above, -1 the note below. Of the delayed ones the first is held."""

_TRILLS: Final = ("trill-mark", "shake", "wavy-line")


@dataclass(frozen=True, slots=True)
class Figure:
    """What is made of a note.

    Attributes:
        name: Name of the ornament as MusicXML has it, or "tremolo".
        above: Semitones to the note above; in a tremolo of two notes to the other one.
        below: Semitones to the note below.
        stroke: Length of a stroke of a tremolo in quarter notes.
        upper_first: A trill begins with the note above, a tremolo of two notes with the other one.
    """

    name: str
    above: Fraction = Fraction(0)
    below: Fraction = Fraction(0)
    stroke: Fraction = Fraction(0)
    upper_first: bool = False

    @property
    def articulation(self) -> str:
        """How its notes go on to the next: in one bow, or as strokes."""
        return "repeated" if self.name == "tremolo" and not self.above else "slurred"

    def strokes(self, length: Fraction, quarters: Fraction) -> Strokes:
        """The notes that fill a length.

        Args:
            length: Quarter notes.
            quarters: The tempo in quarter notes a minute.
        """
        if self.name == "tremolo":
            stroke = self.stroke
            while stroke * 60 / quarters < TREMOLO_FASTEST:
                stroke *= 2
            return self._alternating(length, stroke, max(1, int(length / stroke)))
        unit = _on_grid(TRILL * quarters / 60)
        if self.name in _TURNS:
            return self._turn(length, unit)
        count = int(length / unit)
        count -= (count - self.upper_first) % 2 == 0  # it ends on its main note
        least = 2 if self.upper_first else 3
        return self._alternating(length, unit if count >= least else length / least, max(count, least))

    def _alternating(self, length: Fraction, unit: Fraction, count: int) -> Strokes:
        """Its two notes in turns; the last is held to the end."""
        starts = [place * unit for place in range(count)]
        return [
            (start, end, self.above if (place % 2 == 1) != self.upper_first else Fraction(0))
            for place, (start, end) in enumerate(pairwise([*starts, length]))
        ]

    def _turn(self, length: Fraction, unit: Fraction) -> Strokes:
        """A few quick notes, then the main note; in a delayed turn the main note comes before them."""
        signs = _TURNS[self.name]
        unit = min(unit, length / len(signs))
        starts = [place * unit for place in range(len(signs))]
        if self.name.startswith("delayed"):
            starts = [Fraction(0), *(length - (len(signs) - place) * unit for place in range(1, len(signs)))]
        intervals = {1: self.above, -1: self.below, 0: Fraction(0)}
        return [
            (start, end, intervals[sign])
            for sign, (start, end) in zip(signs, pairwise([*starts, length]), strict=True)
        ]


def _on_grid(unit: Fraction) -> Fraction:
    """The plain or triplet value that is nearest to a length, so that ornaments begin at plain times."""
    values = [Fraction(1, share * 2**power) for power in range(8) for share in (1, 3)]
    return min(values, key=lambda value: max(value / unit, unit / value))


def figure_of(
    event: Event, head: Head, before: Mapping[tuple[str, int], Fraction], upper_first: bool
) -> Figure | None:
    """What is made of a head of an event; None where it is played plain.

    Args:
        event: The event.
        head: One of its heads.
        before: Alterations in force by step and octave (or octave -1: of the key), for the notes beside it.
        upper_first: Trills begin with the note above.
    """
    marks = [mark for mark in head.marks if isinstance(mark.sign, Ornament)]
    names = [mark.name for mark in marks if mark.edge != "stop"]
    trill = next((name for name in names if name in (*_TRILLS, *_TURNS)), None)
    if trill is None or head.pitch is None:
        return _tremolo(event)
    own = _own_signs(marks)
    above = _beside(head.pitch, 1, before, own.get(1))
    below = _beside(head.pitch, -1, before, own.get(-1))
    return Figure("trill-mark" if trill in _TRILLS else trill, above, below, upper_first=upper_first)


def _own_signs(marks: Sequence[Notation]) -> dict[int, Fraction]:
    """Alterations that stand at the ornament itself, by the side of it: 1 above, -1 below."""
    values = {text: alter for alter, text in SIGNS.items()}
    alterations: dict[int, Fraction] = {}
    for mark in marks:
        if mark.name == "accidental-mark" and mark.text in values:
            below = ("placement", "below") in mark.sign.look
            lower = below or any(other.name == "mordent" for other in marks)
            alterations[-1 if lower else 1] = values[mark.text]
    return alterations


def _beside(
    pitch: Pitch, way: int, before: Mapping[tuple[str, int], Fraction], own: Fraction | None
) -> Fraction:
    """Semitones to the next note of the scale above or below."""
    place = STEPS.index(pitch.step) + way
    step, octave = STEPS[place % 7], pitch.octave + place // 7
    alter = own if own is not None else before.get((step, octave), before.get((step, -1), Fraction(0)))
    return Pitch(step, octave, alter).midi - pitch.midi


def _tremolo(event: Event) -> Figure | None:
    """Repeated strokes, where the stem has them; the first head of a chord says it for all."""
    for mark in (mark for mark in event.marks if mark.name == "tremolo"):
        if mark.edge:
            return None  # of two notes: see `two_note_tremolos`
        slashes = int(mark.text) if mark.text.isdecimal() and 0 < int(mark.text) < 9 else UNMEASURED
        return Figure("tremolo", stroke=_stroke(event, slashes))
    return None


def _stroke(event: Event, slashes: int) -> Fraction:
    """Length of a stroke: each slash or beam halves a quarter note."""
    kind = event.printed[0].type if event.printed else ""
    value = BeatUnit(kind).length or Fraction(1)
    return min(Fraction(1), value) * Fraction(1, 2**slashes)


def two_note_tremolos(events: Sequence[Event]) -> dict[int, tuple[Event, Figure]]:
    """The events of tremolos between two notes, by their identity: the other event, and the figure without interval."""
    tremolos: dict[int, tuple[Event, Figure]] = {}
    opened: Event | None = None
    for event in events:
        marks = [mark for mark in event.marks if mark.name == "tremolo" and mark.edge]
        if marks and marks[0].edge == "start":
            opened = event
        elif marks and opened is not None:
            slashes = int(marks[0].text) if marks[0].text.isdecimal() else UNMEASURED
            stroke = _stroke(opened, max(1, min(slashes, 8)))
            tremolos[id(opened)] = (event, Figure("tremolo", stroke=stroke))
            tremolos[id(event)] = (opened, Figure("tremolo", stroke=stroke, upper_first=True))
            opened = None
    return tremolos
