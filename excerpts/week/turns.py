"""Short alternating turns: several boxes of a day, a few minutes each, round and round.

Whether that helps is open. Mixed order helped in some studies of grown-up players (Carter and Grahn 2016, ten
clarinettists; Abushanab and Bishara 2013, pianists), not in others (Mathias and Goldman 2025, twenty advanced
violinists: blocks were better after a day), and hardly in real lessons or with the young (Czyz et al. 2024, 54
studies). So it is off unless a week asks for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from excerpts.week.plan import PlanItem
from excerpts.week.shares import apportion


def in_turns(items: Sequence[PlanItem], minutes: int) -> tuple[list[PlanItem], tuple[tuple[str, int], ...]]:
    """Spread the boxes in depth of a day over turns of about `minutes`.

    Args:
        items: The items of the day.
        minutes: Minutes of a turn; with 0, or with one box only, every box stays one block.

    Returns:
        The items, with the number of their turns; box and minutes of every turn in order.
    """
    deep = [item for item in items if item.in_depth]
    if not minutes or len(deep) < 2:
        return list(items), ()
    counts = {item.box: max(round(item.minutes / minutes), 1) for item in deep}
    parts = {item.box or "": apportion(item.minutes, [1] * counts[item.box]) for item in deep}
    rounds = range(max(counts.values()))
    order = [(box, turns[place]) for place in rounds for box, turns in parts.items() if place < len(turns)]
    spread = [replace(item, turns=counts[item.box]) if item.in_depth else item for item in items]
    return spread, tuple(order)
