"""Draws lots, always the same from the same seed: orders of pieces, and places to start from.

The first pieces of a row of days differ on consecutive days and are even to one over the days; among all orders
that keep to this, each is as likely as any other. The numbers come from Python's Mersenne Twister by way of
`randrange`, which is made of whole bits.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from random import Random
from typing import TypeVar

_Item = TypeVar("_Item")


def usual_seed(player: str, start: str) -> str:
    """A seed of six digits from a player and the first day of a week, short enough to be printed."""
    return str(int.from_bytes(sha256(f"{player}\n{start}".encode()).digest()[:8]) % 900_000 + 100_000)


def shuffled(items: Sequence[_Item], random: Random) -> list[_Item]:
    """The items in drawn order, every order as likely (Fisher and Yates 1938)."""
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        place = random.randrange(last + 1)
        order[last], order[place] = order[place], order[last]
    return order


def draw_orders(
    count: int, days: int, random: Random, *, then_programme: bool = False, before: Sequence[int] = ()
) -> list[list[int]]:
    """Draw the order of `count` pieces for each of `days` days.

    Args:
        count: Number of pieces, one at least.
        days: Number of days with a drawn order.
        random: Where the numbers come from.
        then_programme: The day after them begins with piece 0, and counts for first pieces too.
        before: First pieces of the days before, in order; they count too.

    Returns:
        For each day the pieces as numbers from 0.
    """
    firsts = draw_firsts(count, days, random, then_programme=then_programme, before=before)
    return [
        [first, *shuffled([piece for piece in range(count) if piece != first], random)] for first in firsts
    ]


def draw_firsts(
    count: int, days: int, random: Random, *, then_programme: bool = False, before: Sequence[int] = ()
) -> list[int]:
    """Draw the first piece of each day, as `draw_orders` does.

    With a single piece there is nothing to draw. What went before is left out of account where nothing could follow
    it: first all but the last day, then that too. Each piece is chosen with the chance that it has among all
    rows that can still follow: so every whole row is as likely as any other.
    """
    if count == 1:
        return [0] * days
    kept = next(
        (past for past in (before, before[-1:]) if _ways(days, _after(count, past), then_programme)), ()
    )
    chosen = list(kept)
    counts = [chosen.count(piece) for piece in range(count)]
    for day in range(days):
        left = days - day - 1
        ways = [
            0
            if chosen and chosen[-1] == piece
            else _ways(
                left, _state([n + (place == piece) for place, n in enumerate(counts)], piece), then_programme
            )
            for piece in range(count)
        ]
        ticket = random.randrange(sum(ways))
        piece = 0
        while ticket >= ways[piece]:
            ticket -= ways[piece]
            piece += 1
        chosen.append(piece)
        counts[piece] += 1
    return chosen[len(kept) :]


_State = tuple[tuple[int, bool], tuple[tuple[int, bool], ...]]
"""How often piece 0 was first and whether it was last time; the same of the others, whose names do not matter."""


def _state(counts: Sequence[int], last: int) -> _State:
    marked = [(n, place == last) for place, n in enumerate(counts)]
    return marked[0], tuple(sorted(marked[1:]))


def _after(count: int, past: Sequence[int]) -> _State:
    return _state([past.count(piece) for piece in range(count)], past[-1] if past else -1)


@lru_cache(maxsize=100_000)
def _ways(left: int, state: _State, then_programme: bool) -> int:
    """In how many ways a row of first pieces can go on for `left` days."""
    counts = [state[0], *state[1]]
    spread = max(n for n, _ in counts) - min(n for n, _ in counts)
    if left == 0:
        return int(spread <= 1 and not (then_programme and not _leads_to_programme(counts)))
    if spread > 1 + left:
        return 0
    total = 0
    for piece, (_, was_last) in enumerate(counts):
        if not was_last:
            following = [n + (place == piece) for place, (n, _) in enumerate(counts)]
            total += _ways(left - 1, _state(following, piece), then_programme)
    return total


def _leads_to_programme(counts: Sequence[tuple[int, bool]]) -> bool:
    """Whether piece 0 may come first on the next day, and all counts still be even to one."""
    (own, was_last), others = counts[0], [n for n, _ in counts[1:]]
    return not was_last and max(*others, own + 1) - min(*others, own + 1) <= 1
