"""A written pitch: its letter, alteration and octave, its name, its MIDI number."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.format import number_in

STEP_SEMITONES: Final[dict[str, int]] = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
"""Semitones of each `<step>` above C."""

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
