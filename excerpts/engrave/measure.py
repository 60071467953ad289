"""Natural widths of the bars, from one endless system."""

from __future__ import annotations

from excerpts.engrave.flatten import RawSystem
from excerpts.engrave.lines import Widths
from excerpts.engrave.prepare import Source
from excerpts.engrave.style import Style
from excerpts.errors import EngravingError

_HEAD_GAP = 0.19
"""White that the engraver leaves behind clef, key and time, in staff heights."""


def natural_widths(systems: list[RawSystem], source: Source, style: Style) -> Widths:
    """Measure the bars on one endless system.

    Clef and key of the first bar are what every further system begins with, near enough: a change of key
    on the way makes a difference of a few millimetres.

    Args:
        systems: The one system.
        source: The private copy.
        style: The style.

    Returns:
        The widths in millimetres.

    Raises:
        EngravingError: It is not one system, or bars are missing.
    """
    if len(systems) != 1 or len(systems[0].bars) != len(source.bars):
        raise EngravingError("the engraver left out bars of the excerpt")
    system = systems[0]
    bars = [right - left for _, left, right in system.bars]
    head = _reach(system, frozenset({"clef", "keyAccid", "keySig"}), style)
    full = _reach(system, frozenset({"clef", "keyAccid", "keySig", "meterSig"}), style)
    bars[0] -= full
    return Widths(tuple(bars), head, full - head)


def _reach(system: RawSystem, kinds: frozenset[str], style: Style) -> float:
    first, left, right = system.bars[0]
    # A change of clef inside the bar is of the same kind, but stands far to the right.
    limit = left + 0.6 * (right - left)
    ends = [
        ink.rect.right - left
        for ink in system.inks
        if ink.owner.bar == first and ink.owner.kind in kinds and ink.rect.right < limit
    ]
    return max(ends) + _HEAD_GAP * style.staff_mm if ends else 0.0
