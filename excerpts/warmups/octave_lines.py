"""Where an octave line (8va) stands over the highest notes.

Common practice, no source: players read six ledger lines (the E that orchestral violin parts climb to) and
one peak of seven; above that a line an octave lower is easier. It then covers the high notes around.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from excerpts.instruments.staff import Clef
from excerpts.musicxml.pitch import Pitch

_MOST_LEDGERS: Final = 6
_TOO_MUCH: Final = 2
"""Ledger lines above the most, all notes of a stretch together, that make an octave line worth it."""
_UNDER_THE_LINE: Final = 4


def octave_lines(groups: Sequence[Sequence[Pitch]], clefs: Sequence[Clef]) -> Iterator[tuple[int, int]]:
    """Find the stretches to be written an octave lower, as first and last index of their groups.

    Args:
        groups: The pitches of each beam group.
        clefs: The clef of each group.
    """
    stretch: list[int] = []
    excess = 0
    for index, (group, clef) in enumerate(zip(groups, clefs, strict=True)):
        above = [clef.ledger_lines(pitch) for pitch in group if pitch.midi > clef.top.midi]
        if group and len(above) == len(group) and min(above) >= _UNDER_THE_LINE:
            stretch.append(index)
            excess += sum(max(0, lines - _MOST_LEDGERS) for lines in above)
        else:
            yield from _line(stretch, excess)
            stretch, excess = [], 0
    yield from _line(stretch, excess)


def _line(stretch: list[int], excess: int) -> list[tuple[int, int]]:
    """The stretch of groups as first and last, where it is worth an octave line."""
    return [(stretch[0], stretch[-1])] if excess >= _TOO_MUCH else []
