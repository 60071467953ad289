"""Notes by name, and where they stand in the clefs that string players read."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.errors import InputError
from excerpts.musicxml import elements
from excerpts.musicxml.pitch import STEPS, Pitch

_PITCH = re.compile(r"([A-Ga-g])(##|bb|[#b♯♭x]?)(-?\d+)")
_ALTERS = {"": 0, "#": 1, "♯": 1, "##": 2, "x": 2, "b": -1, "♭": -1, "bb": -2}


def parse_pitch(text: str) -> Pitch:
    """Read a note name with its octave: "A3", "Bb3", "F#4" (C4 is middle C).

    Raises:
        InputError: It is not a note name.
    """
    match = _PITCH.fullmatch(text.strip().replace("-sharp", "#").replace("-flat", "b"))
    if not match:
        raise InputError(
            f"'{text}' is not a note.",
            hint="Write a letter, # or b, and an octave: A3, Bb3, F#4 (C4 is middle C).",
        )
    letter, sign, octave = match.groups()
    return Pitch(letter.upper(), int(octave), Fraction(_ALTERS[sign]))


def staff_place(pitch: Pitch) -> int:
    """Number of the pitch's line or space, counted in letters from C0 (C4 is 28)."""
    return 7 * pitch.octave + STEPS.index(pitch.step)


@dataclass(frozen=True, slots=True)
class Clef:
    """A clef as MusicXML spells it, with the notes of its outer lines.

    Attributes:
        name: "treble", "alto", "tenor" or "bass".
        sign: MusicXML `<sign>`.
        line: MusicXML `<line>`, counted from the bottom.
        bottom: Note on the lowest line.
        top: Note on the highest line.
    """

    name: str
    sign: str
    line: int
    bottom: Pitch
    top: Pitch

    @property
    def written(self) -> elements.Clef:
        """It as a sign in the music."""
        return elements.Clef(self.sign, self.line)

    def ledger_lines(self, pitch: Pitch) -> int:
        """How many ledger lines the pitch needs in this clef."""
        place = staff_place(pitch)
        above, below = place - staff_place(self.top), staff_place(self.bottom) - place
        return max(above, below, 0) // 2


def _clef(name: str, sign: str, line: int, bottom: str, top: str) -> Clef:
    return Clef(name, sign, line, parse_pitch(bottom), parse_pitch(top))


TREBLE: Final = _clef("treble", "G", 2, "E4", "F5")
ALTO: Final = _clef("alto", "C", 3, "F3", "G4")
TENOR: Final = _clef("tenor", "C", 4, "D3", "E4")
BASS: Final = _clef("bass", "F", 4, "G2", "A3")
