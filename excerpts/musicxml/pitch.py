"""A written pitch: its letter, alteration and octave, its name, its MIDI number, and the accidental that it needs.

An accidental holds for its own line or space up to the barline; a note tied over the barline carries its own without
printing it, and that does not hold for later notes (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.format import number_in

STEP_SEMITONES: Final[dict[str, int]] = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
"""Semitones of each `<step>` above C."""

STEPS: Final = "CDEFGAB"
"""The steps of an octave, from the lowest."""

_SIGNS: Final = {Fraction(-2): "bb", Fraction(-1): "b", Fraction(0): "", Fraction(1): "#", Fraction(2): "##"}


@dataclass(frozen=True, slots=True)
class Pitch:
    """A written pitch: letter, octave (C4 = middle C), alteration in semitones (fractions for microtones)."""

    step: str
    octave: int
    alter: Fraction = Fraction(0)

    @property
    def midi(self) -> Fraction:
        """MIDI number of the written pitch (C4 = 60); enharmonic spellings have the same."""
        return 12 * (self.octave + 1) + STEP_SEMITONES[self.step] + self.alter

    def __str__(self) -> str:
        """How it is named wherever it is: "C#4", "Bb3", "A(1/2)4" for a quarter-tone."""
        return f"{self.step}{_SIGNS.get(self.alter, f'({self.alter})')}{self.octave}"


def pitch_of(note: etree._Element) -> Pitch | None:
    """The written pitch of a `<note>`; None for a rest, an unpitched note, and a pitch that cannot be read."""
    texts = _texts(note)
    return _pitch(*texts) if texts else None


def name_of_pitch(note: etree._Element) -> str:
    """Name of the written pitch of a `<note>`; "" where `pitch_of` gives none."""
    texts = _texts(note)
    return _name(*texts) if texts else ""


def midi_of(note: etree._Element) -> Fraction | None:
    """MIDI number of a note's written pitch; None where `pitch_of` gives none."""
    texts = _texts(note)
    return _height(*texts) if texts else None


_Texts = tuple[str | None, str | None, str | None]


def _texts(note: etree._Element) -> _Texts | None:
    pitch = next(note.iterchildren("pitch"), None)
    return (
        None if pitch is None else (pitch.findtext("step"), pitch.findtext("alter"), pitch.findtext("octave"))
    )


@lru_cache(maxsize=1024)
def _pitch(step: str | None, alter: str | None, octave: str | None) -> Pitch | None:
    """A pitch from its texts: "-1", "-1.0" and " -1 " are one alteration."""
    letter, number = (step or "").strip(), number_in(octave)
    if letter not in STEP_SEMITONES or number is None or number.denominator != 1:
        return None
    return Pitch(letter, int(number), number_in(alter) or Fraction(0))


@lru_cache(maxsize=1024)
def _name(step: str | None, alter: str | None, octave: str | None) -> str:
    pitch = _pitch(step, alter, octave)
    return "" if pitch is None else str(pitch)


@lru_cache(maxsize=1024)
def _height(step: str | None, alter: str | None, octave: str | None) -> Fraction | None:
    pitch = _pitch(step, alter, octave)
    return None if pitch is None else pitch.midi


SIGNS: Final[dict[Fraction, str]] = {
    Fraction(-3): "triple-flat",
    Fraction(-2): "flat-flat",
    Fraction(-3, 2): "three-quarters-flat",
    Fraction(-1): "flat",
    Fraction(-1, 2): "quarter-flat",
    Fraction(0): "natural",
    Fraction(1, 2): "quarter-sharp",
    Fraction(1): "sharp",
    Fraction(3, 2): "three-quarters-sharp",
    Fraction(2): "double-sharp",
    Fraction(3): "triple-sharp",
}
"""MusicXML's `<accidental>` value for each alteration in semitones."""

_SHARPS: Final = "FCGDAEB"
_NATURAL: Final = Fraction(0)


def key_alterations(key: etree._Element) -> dict[str, Fraction]:
    """Alteration of each step that a `<key>` element gives: by fifths, or step by step."""
    steps = [(step.text or "").strip() for step in key.findall("key-step")]
    if steps:
        alters = [number_in(alter.text) or _NATURAL for alter in key.findall("key-alter")]
        return dict(zip(steps, alters, strict=False))
    return alterations(int(number_in(key.findtext("fifths")) or 0))


def alterations(fifths: int) -> dict[str, Fraction]:
    """Alteration of each step in a key of so many sharps, or flats when negative."""
    order, sign = (_SHARPS, 1) if fifths > 0 else (_SHARPS[::-1], -1)
    times = {step: (abs(fifths) + 6 - place) // 7 for place, step in enumerate(order)}
    return {step: Fraction(sign * count) for step, count in times.items() if count}


class Speller:
    """Follows the bars of one staff and says which notes need an accidental."""

    def __init__(self) -> None:
        self._key: dict[str, Fraction] = {}
        self._bar: dict[tuple[str, int], Fraction | None] = {}

    def set_key(self, alterations: dict[str, Fraction]) -> None:
        """A new key signature holds from here, with these alterations of the steps."""
        self._key = alterations
        self._bar = {}

    def start_bar(self) -> None:
        """A barline ends the accidentals of the bar before."""
        self._bar = {}

    def needed(self, pitch: Pitch) -> str:
        """The accidental that a note needs here, "" when key and bar already say it."""
        place = (pitch.step, pitch.octave)
        if self._bar.get(place, self._key.get(pitch.step, _NATURAL)) == pitch.alter:
            return ""
        return SIGNS.get(pitch.alter, "other")

    def note(self, pitch: Pitch, tied: bool = False) -> None:
        """A note has been printed; one that only ends a tie changes nothing for later notes."""
        if not tied:
            self._bar[(pitch.step, pitch.octave)] = pitch.alter

    def forget(self, pitch: Pitch) -> None:
        """Two alterations of one line or space began together: the next note there needs its accidental."""
        self._bar[(pitch.step, pitch.octave)] = None
