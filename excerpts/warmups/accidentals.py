"""Which notes of a line need an accidental, by the key signature and what stands before them in the bar.

Rules of common notation: an accidental holds for its line or space to the end of the bar. A note whose letter
was last played with another one gets a reminder, in any bar and octave.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from excerpts.keys import Key
from excerpts.notes.model import Mark, Pitch

_NAMES: Final = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SHARPS: Final = "FCGDAEB"


def accidental_marks(key: Key, bars: Sequence[Sequence[Pitch]]) -> Iterator[Mark | None]:
    """Give each note's accidental, or None where it needs none.

    Args:
        key: The key in force.
        bars: The pitches of each bar, in order.
    """
    signature = _signature(key.fifths)
    before: dict[str, int] = {}
    for bar in bars:
        shown: dict[tuple[str, int], int] = {}
        for pitch in bar:
            alter, line = int(pitch.alter), (pitch.step, pitch.octave)
            in_force = shown.get(line, signature[pitch.step])
            last = before.get(pitch.step, signature[pitch.step])
            needed = alter != in_force
            yield _mark(alter, reminder=not needed) if needed or alter != last else None
            shown[line] = before[pitch.step] = alter


def _signature(fifths: int) -> dict[str, int]:
    """Alteration of each letter by the key signature."""
    sharps, flats = _SHARPS[: max(fifths, 0)], _SHARPS[::-1][: max(-fifths, 0)]
    return {step: (step in sharps) - (step in flats) for step in _SHARPS}


def _mark(alter: int, *, reminder: bool) -> Mark:
    name = _NAMES[alter]
    attribute = ' cautionary="yes"' if reminder else ""
    return Mark("accidental", name, f"<accidental{attribute}>{name}</accidental>", text=name)
