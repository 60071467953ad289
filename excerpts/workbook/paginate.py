"""Divides blocks among pages: few pages, boxes whole, breaks where they disturb least.

Everything to be printed is a list of blocks that no break goes through, whose heights have been measured. The best
division of the list is found exactly, from its end to its start (dynamic programming): no break that parts a heading
from its text; then what costs least, in pages and in breaks; then even white. The costs say (common practice, no
source):

- A box that one page holds stands whole. A page more is printed for that where the leaf would be turned inside the
  box, unless it leaves most of a page empty, and where two boxes would be parted that lie open.
- A box of two pages lies open where that costs no page, and for a page more where three boxes gain by it.
- No row, line or heading stands alone, for a page more too.
- Where no price of a page is set, none of this is worth a page more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import ceil

from excerpts.workbook.pages import BoxPage

NEVER = 1_000_000
"""Cost of a break that only a block too long for any page calls for; all other costs add up to less."""

TIGHT = 3
"""Cost of setting a page with less air."""

TURN = 40
"""Cost of turning the page inside a box, besides that of the break: its parts do not lie open together."""

PAGE = 120
"""Cost of a page more."""

BROKEN = 70
"""Cost of a break inside a box that one page holds, besides that of the break."""

EMPTY = 30
"""Cost of a page that is left with more than half of it empty."""

SAFE_MM = 0.1
"""How much less than its height a page is filled: adding up many measures may be wrong by so much."""


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the workbook that no page break goes through; all measures in millimetres.

    Attributes:
        kind: Name of the template that prints it.
        item: What the template prints.
        gap: White above it where it does not begin a page.
        close_gap: The same on a page with less air.
        cost: How much a page break before it disturbs: 0 not at all, NEVER.
        box: The box that it goes on with; None for the start of one, and outside boxes.
        more: Height of what is left out where it is measured: rows that are all alike.
        alike: All that its height comes from besides its pictures; blocks of a kind for which it is the same are
            measured once. None for one that is measured by itself.
        pictures: Height of its pictures where `alike` leaves them out.
        height: Its height as measured.
        head: Height of what is repeated over it when it begins a page: the head of a table.
        mark: Its name where it is measured; empty on a page.
        begins: It begins a page.
    """

    kind: str
    item: object
    gap: float = 0.0
    close_gap: float = 0.0
    cost: int = 0
    box: BoxPage | None = None
    more: float = 0.0
    alike: object = None
    pictures: float = 0.0
    height: float = 0.0
    head: float = 0.0
    mark: str = ""
    begins: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Blocks of one kind that stand together in one list or table.

    Attributes:
        kind: Their kind.
        blocks: The blocks.
        gap: White above the first.
    """

    kind: str
    blocks: tuple[Block, ...]
    gap: float


@dataclass(frozen=True, slots=True)
class Page:
    """What stands on a page.

    Attributes:
        blocks: Its blocks.
        tight: Whether it is set with less air.
        running: The box that it goes on with at its top.
        groups: The blocks as the template prints them.
    """

    blocks: tuple[Block, ...]
    tight: bool = False
    running: BoxPage | None = None
    groups: tuple[Group, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "groups", _grouped(self.blocks, self.tight))


_TOGETHER = frozenset({"text", "piece", "day"})
"""Kinds whose blocks are the lines of one list or table."""


def _grouped(blocks: Sequence[Block], tight: bool) -> tuple[Group, ...]:
    groups: list[Group] = []
    for place, block in enumerate(blocks):
        if groups and block.kind in _TOGETHER and groups[-1].kind == block.kind:
            groups[-1] = replace(groups[-1], blocks=(*groups[-1].blocks, block))
            continue
        gap = 0.0 if not place else block.close_gap if tight else block.gap
        groups.append(Group(block.kind, (block,), gap))
    return tuple(groups)


@dataclass(frozen=True, slots=True)
class _Best:
    """The best division of the last blocks: its pages, what it costs, and how many blocks its first page leaves."""

    pages: int = 0
    cost: int = 0
    white: float = 0.0
    left: int = 0
    tight: bool = False

    def rank(self, price: int) -> tuple[int, int, int, float]:
        """What makes one way better than another: no page, at its price, is saved by a break that must not be."""
        forbidden, cost = divmod(self.cost, NEVER)
        return forbidden, self.pages * price + cost, cost, self.white


@dataclass(frozen=True, slots=True)
class Division:
    """Blocks divided among pages.

    Attributes:
        pages: The pages.
        forbidden: How many breaks must not be.
        cost: What the others cost.
        white: How uneven the pages are.
    """

    pages: list[Page]
    forbidden: int
    cost: int
    white: float


class Paginator:
    """Divides blocks among pages of one height; the body is searched once for all forms of the first page.

    Args:
        body: What follows the first page.
        page_mm: Height of a page.
        spreads: Even pages lie open beside the odd ones that follow them.
        running: Height of the line that names a box at the top of a page that goes on with it.
        price: How much in breaks a page more is worth; no breaks are worth one where it is left out.
    """

    def __init__(
        self,
        body: Sequence[Block],
        page_mm: float,
        *,
        spreads: bool = False,
        running: float = 0.0,
        price: int = NEVER,
    ) -> None:
        self.running, self.price = running, price
        self.body = tuple(_kept_whole(body, page_mm - SAFE_MM))
        self.page_mm = page_mm
        self.spreads = spreads
        self._best = self._searched(self.body, {(0, False): _Best(), (0, True): _Best()}, len(body))

    def divide(self, first: Sequence[Block] = ()) -> Division:
        """The best division of a form of the first page and of the body."""
        blocks = (*first, *self.body)
        best = self._searched(blocks, dict(self._best), len(first))
        pages: list[Page] = []
        start, even = 0, False
        while start < len(blocks):
            chosen = best[len(blocks) - start, even]
            stop = len(blocks) - chosen.left
            pages.append(Page(blocks[start:stop], chosen.tight, blocks[start].box))
            start, even = stop, not even
        forbidden, cost, _, white = best[len(blocks), False].rank(0)
        return Division(pages, forbidden, cost, white)

    def _searched(
        self, blocks: Sequence[Block], best: dict[tuple[int, bool], _Best], count: int
    ) -> dict[tuple[int, bool], _Best]:
        """Add the best divisions from each of the first `count` blocks on, by blocks left and side of the page."""
        for start in range(count - 1, -1, -1):
            for even in (False, True):
                best[len(blocks) - start, even] = self._best_page(blocks, start, even, best)
        return best

    def _best_page(
        self, blocks: Sequence[Block], start: int, even: bool, best: dict[tuple[int, bool], _Best]
    ) -> _Best:
        """The best way to fill one page from a block on, given the best ways from every later block."""
        ways: list[_Best] = []
        most = self.page_mm - SAFE_MM
        loose = close = blocks[start].head + (self.running if blocks[start].box else 0.0)
        for stop, block in enumerate(blocks[start:], start=start + 1):
            if block.begins and ways:
                break
            loose += block.height + (block.gap if ways else 0.0)
            close += block.height + (block.close_gap if ways else 0.0)
            if close > most and ways:
                break
            rest = best[len(blocks) - stop, not even]
            cost = rest.cost + TIGHT * (loose > most)
            white = rest.white
            if stop < len(blocks):
                left = max(1 - (close if loose > most else loose) / self.page_mm, 0.0)
                empty = left > 0.5 and not blocks[stop].begins
                cost += self._break_cost(blocks[stop], even) + EMPTY * empty
                white += left**2
            pages = rest.pages + max(ceil((close - SAFE_MM) / self.page_mm), 1)
            ways.append(_Best(pages, cost, white, len(blocks) - stop, loose > most))
        return min(ways, key=lambda way: way.rank(self.price))

    def _break_cost(self, block: Block, even: bool) -> int:
        """Cost of a page break before a block, at the foot of an even page or of an odd one."""
        turned = self.spreads and block.box is not None and not even
        return block.cost + TURN * turned


def _kept_whole(blocks: Sequence[Block], most: float) -> Iterator[Block]:
    """The blocks, with a higher cost of breaks inside boxes that are no higher than that."""
    starts = [place for place, block in enumerate(blocks) if not place or block.box is None]
    for start, stop in pairwise([*starts, len(blocks)]):
        first, *others = blocks[start:stop]
        fits = first.height + sum(block.close_gap + block.height for block in others) <= most
        yield first
        yield from (replace(block, cost=block.cost + BROKEN * fits) for block in others)
