"""Which notes need an accidental: what key and bar say so far, octave by octave.

Rules: common practice, no source. An accidental holds for its own line or space up to the barline; a note
tied over the barline carries its own without printing it, and that does not hold for later notes.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import number_in
from excerpts.musicxml.pitch import Pitch

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
