"""Accidentals that only remind: the seventh of a melodic minor going down again after it was raised going up.

Common practice, no source: a note whose letter was last played with another accidental shows its own once,
in any bar and octave, even where the key signature says it. The accidentals that must stand are the note
writer's business.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Notation

_NAMES: Final = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SHARPS: Final = "FCGDAEB"


def reminders(
    fifths: int, bars: Sequence[Sequence[Pitch]], *, near: bool = False
) -> Iterator[Notation | None]:
    """Give each note's reminder, or None where it has none.

    Args:
        fifths: The key signature in force.
        bars: The pitches of each bar, in order.
        near: Remind only of what stood in the bar before: where every bar has its own accidentals, as in a
            chromatic scale, older ones are forgotten.
    """
    signature = _signature(fifths)
    before: dict[str, int] = {}
    last: set[str] = set()
    for bar in bars:
        shown: dict[tuple[str, int], int] = {}
        if near:
            before = {step: alter for step, alter in before.items() if step in last}
        last = {pitch.step for pitch in bar}
        for pitch in bar:
            alter, line = int(pitch.alter), (pitch.step, pitch.octave)
            must_stand = alter != shown.get(line, signature[pitch.step])
            changed = alter != before.get(pitch.step, alter)
            yield _mark(alter) if changed and not must_stand else None
            shown[line] = before[pitch.step] = alter


def _signature(fifths: int) -> dict[str, int]:
    """Alteration of each letter by the key signature."""
    sharps, flats = _SHARPS[: max(fifths, 0)], _SHARPS[::-1][: max(-fifths, 0)]
    return {step: (step in sharps) - (step in flats) for step in _SHARPS}


def _mark(alter: int) -> Notation:
    name = _NAMES[alter]
    return Notation("accidental", name, f'<accidental cautionary="yes">{name}</accidental>', text=name)
