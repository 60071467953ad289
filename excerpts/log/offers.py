"""Ways out for a box that is stuck: shorten it, play other variants, simplify it, park it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import islice
from typing import Final, Literal, get_args

from excerpts.errors import VariantError
from excerpts.excerpt import Tempo
from excerpts.log.row import LogRow
from excerpts.log.standing import enough, rows_of
from excerpts.variants import parse_variant, variants
from excerpts.variants.tempo_steps import one_down
from excerpts.week.orders import BoxOrders
from excerpts.weekfile.items import BoxItem

Way = Literal["shorten", "variant", "simplify", "park", "resume"]
WAYS: Final = get_args(Way)

_BARS: Final = re.compile(r"(\d+)-(\d+)")
_BOWED: Final = "separate"
"""The variant that others are stacked on when all of them were had singly."""

_SIMPLER: Final = 4
"""Metronome numbers that a target comes down by where nothing was clean yet."""


def halves(bars: str | None) -> tuple[str, str] | None:
    """The two halves of some bars with plain numbers; None where they cannot be halved by number."""
    match = _BARS.fullmatch(bars or "")
    if match is None or int(match[2]) <= int(match[1]):
        return None
    first, last = int(match[1]), int(match[2])
    middle = (first + last) // 2
    return _bars(first, middle), _bars(middle + 1, last)


def _bars(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}-{last}"


def harder_first(box: BoxItem, rows: Sequence[LogRow]) -> tuple[str, str] | None:
    """The halves of a box, the one in which it broke down more often first; None where there are none."""
    parts = halves(box.in_score)
    if parts is None:
        return None
    broke = Counter(bar for row in rows_of(box.id, rows) for bar in bar_numbers(row.bars))
    counts = [sum(broke[bar] for bar in bar_numbers(half)) for half in parts]
    return parts if counts[0] >= counts[1] else (parts[1], parts[0])


def bar_numbers(text: str) -> set[int]:
    """The bars that a text names by plain numbers ("14", "12–16", "bar 3, bar 7")."""
    numbers: set[int] = set()
    for first, last in re.findall(r"(\d{1,5})(?:\s*[-–]\s*(\d{1,5}))?", text):
        end = int(last or first)
        numbers.update(range(int(first), min(end, int(first) + 200) + 1))
    return numbers


def other_variants(box: BoxOrders) -> tuple[str, ...]:
    """Variants that a box has not had: those for its faults first, as many as it has now, one at least.

    All of them can be made of its music, and are for the player's level. Words to the player come last.
    """
    had = box.names()
    usual = [info for info in variants() if not info.same_notes]
    usual.sort(key=lambda info: not set(info.for_faults) & set(box.box.why))
    names = [
        *(info.name for info in usual),
        *(f"{_BOWED}+{info.name}" for info in usual if info.name != _BOWED),
        *(name for info in variants() if info.spoken for name in info.examples),
    ]
    fresh = (name for name in names if name not in had and _stands_alone(name) and box.suits(name))
    return tuple(islice(fresh, max(len(had), 1)))


def _stands_alone(name: str) -> bool:
    """Whether a variant needs nothing more said."""
    try:
        parse_variant(name)
    except VariantError:
        return False
    return True


def simpler(box: BoxItem, reached: Tempo | None) -> Tempo | None:
    """An easier target: what was reached, else some numbers lower; None for a goal in words."""
    if box.target is None:
        return None
    if reached is not None and reached.quarters_per_minute < box.target.quarters_per_minute:
        return reached
    return one_down(box.target, _SIMPLER)


def best(box: BoxItem, rows: Iterable[LogRow], wanted: int) -> Tempo | None:
    """The highest tempo at which a box ever had the wanted clean runs."""
    tempos = [row.tempo for row in rows_of(box.id, rows) if row.tempo is not None and enough(row, wanted)]
    return max(tempos, key=lambda tempo: tempo.quarters_per_minute, default=None)
