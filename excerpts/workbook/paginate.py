"""Makes up pages: where each page ends, so that as few pages as need be are filled and none parts badly.

Everything to be printed is a list of strips, pieces that no break goes through, whose heights have been
measured. The best division of the list is found exactly, from its end to its start (dynamic programming):
no break that parts a heading from its text; fewest pages; then the least disturbing breaks; then even white.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import ceil

from excerpts.workbook.pages import BoxPage

NEVER = 10_000
"""Cost of a break that only a strip too long for any page calls for; all other costs add up to less."""

TIGHT = 3
"""Cost of setting a page with less air."""

RUNNING_MM = 7.5
"""Height of the line that names a box at the top of a page that goes on with it, as in the style sheet."""

SAFE_MM = 0.1
"""How much less than its height a page is filled: adding up many measures may be wrong by so much."""


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the workbook that no page break goes through; all measures in millimetres.

    Attributes:
        kind: Name of the template that prints it.
        item: What the template prints.
        gap: White above it where it does not begin a page.
        close_gap: The same on a page with less air.
        cost: How much a page break before it disturbs: 0 not at all, NEVER.
        shrinks: How much lower it is on a page with less air.
        box: The box that it goes on with; None for the start of one, and outside boxes.
        more: What it is higher than it stands in the galley.
        height: Its height as measured.
        head: Height of what is said again over it when it begins a page: the head of a table.
        mark: Its name in the galley in which it is measured; empty on a page.
    """

    kind: str
    item: object
    gap: float = 0.0
    close_gap: float = 0.0
    cost: int = 0
    shrinks: float = 0.0
    box: BoxPage | None = None
    more: float = 0.0
    height: float = 0.0
    head: float = 0.0
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Strips of one kind that stand together in one list or table.

    Attributes:
        kind: Their kind.
        strips: The strips.
        gap: White above the first.
    """

    kind: str
    strips: tuple[Block, ...]
    gap: float


@dataclass(frozen=True, slots=True)
class Page:
    """A page made up.

    Attributes:
        strips: What is on it.
        tight: Whether it is set with less air.
        running: The box that it goes on with at its top.
        groups: The strips as the template prints them.
    """

    strips: tuple[Block, ...]
    tight: bool = False
    running: BoxPage | None = None
    groups: tuple[Group, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "groups", _grouped(self.strips, self.tight))


_TOGETHER = frozenset({"text", "piece", "day"})
"""Kinds whose strips are the lines of one list or table."""


def _grouped(strips: Sequence[Block], tight: bool) -> tuple[Group, ...]:
    groups: list[Group] = []
    for place, strip in enumerate(strips):
        if groups and strip.kind in _TOGETHER and groups[-1].kind == strip.kind:
            groups[-1] = replace(groups[-1], strips=(*groups[-1].strips, strip))
            continue
        gap = 0.0 if not place else strip.close_gap if tight else strip.gap
        groups.append(Group(strip.kind, (strip,), gap))
    return tuple(groups)


@dataclass(frozen=True, slots=True)
class _Best:
    """The best division of the strips from one of them to the end."""

    pages: int
    cost: int
    white: float
    end: int = 0
    tight: bool = False

    @property
    def rank(self) -> tuple[int, int, int, float]:
        """What makes one way better than another: no page is saved by a break that must not be."""
        forbidden, cost = divmod(self.cost, NEVER)
        return forbidden, self.pages, cost, self.white


def make_up(strips: Sequence[Block], page_mm: float, used_mm: float = 0.0) -> list[Page]:
    """Divide measured strips among pages.

    Args:
        strips: What is to be printed, in order.
        page_mm: Height of a page.
        used_mm: How much of the first page is taken already; what follows on it stands its gap below.
            The first page made up then goes on with that page, and may be empty.

    Returns:
        The pages.
    """
    best: dict[int, _Best] = {len(strips): _Best(0, 0, 0.0)}
    for start in range(len(strips) - 1, -1, -1):
        best[start] = _best_page(strips, start, page_mm, best)
    first = _best_page(strips, 0, page_mm, best, used_mm) if used_mm and strips else best[0]
    pages: list[Page] = []
    start, chosen = 0, first
    while start < len(strips) or (used_mm and not pages):
        stop = chosen.end if strips else 0
        begins_page = not (used_mm and not pages)
        running = strips[start].box if begins_page and stop > start else None
        pages.append(Page(tuple(strips[start:stop]), chosen.tight, running))
        if stop >= len(strips):
            break
        start, chosen = stop, best[stop]
    return pages


def _best_page(
    strips: Sequence[Block], start: int, page_mm: float, best: dict[int, _Best], used_mm: float = 0.0
) -> _Best:
    """The best way to fill one page from strip `start` on, given the best ways from every later strip."""
    found: list[_Best] = []
    if used_mm:
        found.append(_joined(strips, start, 1, 0, 0.0, best, tight=False))
    loose = tight = used_mm
    if not used_mm:
        head = strips[start].head + (RUNNING_MM if strips[start].box else 0.0)
        loose = tight = head
    for stop in range(start + 1, len(strips) + 1):
        strip = strips[stop - 1]
        at_top = stop - 1 == start and not used_mm
        loose += strip.height + (0.0 if at_top else strip.gap)
        tight += strip.height - strip.shrinks + (0.0 if at_top else strip.close_gap)
        if tight > page_mm - SAFE_MM:
            if at_top:
                found.append(_joined(strips, stop, ceil(tight / page_mm), 0, 0.0, best, tight=True))
            break
        is_tight = loose > page_mm - SAFE_MM
        left = page_mm - (tight if is_tight else loose)
        white = 0.0 if stop == len(strips) else (left / page_mm) ** 2
        found.append(_joined(strips, stop, 1, TIGHT * is_tight, white, best, tight=is_tight))
    return min(found, key=lambda way: way.rank)


def _joined(
    strips: Sequence[Block],
    stop: int,
    pages: int,
    cost: int,
    white: float,
    best: dict[int, _Best],
    tight: bool,
) -> _Best:
    rest = best[stop]
    cost += rest.cost + (strips[stop].cost if stop < len(strips) else 0)
    return _Best(pages + rest.pages, cost, white + rest.white, stop, tight)
