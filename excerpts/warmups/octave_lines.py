"""Where an octave line (8va) stands over the highest notes.

Common practice, no source: players read six ledger lines (the E that orchestral violin parts climb to);
above that a line an octave lower is easier. It then covers the high notes around, not one beat alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from excerpts.notes.model import Pitch
from excerpts.staff import Clef

_MOST_LEDGERS: Final = 6
_UNDER_THE_LINE: Final = 4


def octave_lines(groups: Sequence[Sequence[Pitch]], clefs: Sequence[Clef]) -> Iterator[tuple[int, int]]:
    """Find the stretches to be written an octave lower, as first and last index of their groups.

    Args:
        groups: The pitches of each beam group.
        clefs: The clef of each group.
    """
    first = None
    needed = False
    for index, (group, clef) in enumerate(zip(groups, clefs, strict=True)):
        lines = [clef.ledger_lines(pitch) for pitch in group if pitch.midi > clef.top.midi]
        if lines and len(lines) == len(group) and min(lines) >= _UNDER_THE_LINE:
            first = index if first is None else first
            needed = needed or max(lines) > _MOST_LEDGERS
            continue
        if first is not None and needed:
            yield first, index - 1
        first, needed = None, False
    if first is not None and needed:
        yield first, len(groups) - 1
