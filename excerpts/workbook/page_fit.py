"""Fits a workbook to its pages: measures its strips in one long galley, then makes up the pages from them.

Laying out pages and looking where they end would take many trials. So everything is laid out once on a page
without an end, where each strip's height is read off; the pages are then made up by arithmetic and laid out
once more as they will be printed, with their page numbers known.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from excerpts.workbook.measure_blocks import END
from excerpts.workbook.pages import BoxPage, Columns
from excerpts.workbook.paginate import Block, Page, make_up

if TYPE_CHECKING:
    from weasyprint import Document

MM_PER_PX = 25.4 / 96
RULE_MM = 8.0
"""Height of a line to write on, as in the style sheet."""

MOST_RULES = 8
"""Lines to write on beyond which the first page has room for music: what follows begins on it."""

SOME_RULES = (4, 2, 0)
"""Lines to write on of such a first page; fewer where that saves a page."""

LINE_SHRINKS_MM = 1.0
"""How much lower a line of the list of boxes is with less air, as in the style sheet."""

TRIALS = 3
"""Layouts after which pages that came out otherwise than planned are taken as they are."""

LESS_MM = 3.0
"""What a page holds less in the next trial."""

LayOut = Callable[[Sequence[Page], Mapping[str, int]], "Document"]
"""Lays out pages, given the page of each box."""

Measure = Callable[[Page, Mapping[str, int]], Mapping[str, float]]
"""Tells where everything that has a name stands on a page without an end, in CSS pixels."""


class Fitter:
    """Fits one workbook to its pages.

    Args:
        lay_out: Lays out pages.
        measure: Measures a galley.
        anchors: Names of the boxes that have pages of their own.
        page_mm: Height of a page.
        side_by_side: Whether boxes and notes stand side by side on the first page.
        to_write: Whether the first page has lines to write on.
    """

    def __init__(
        self,
        lay_out: LayOut,
        measure: Measure,
        anchors: Sequence[str],
        page_mm: float,
        *,
        side_by_side: bool,
        to_write: bool = True,
    ) -> None:
        self.lay_out = lay_out
        self.measure = measure
        self.anchors = anchors
        self.page_mm = page_mm
        self.side_by_side = side_by_side
        self.to_write = to_write
        self.at: dict[str, float] = {}

    def fit(self, first: Sequence[Block], body: Sequence[Block]) -> Document:
        """Lay out a workbook in the fewest pages that it looks well in.

        Args:
            first: The first page; empty where there is none.
            body: What follows.
        """
        first, body = self._measured(first, body)
        document, before = None, 0
        for trial in range(TRIALS):
            pages = self._make_up(first, body, self.page_mm - LESS_MM * trial)
            numbers = _numbers(pages)
            document = self.lay_out(pages, numbers)
            over = len(document.pages) - len(pages)
            if not over:
                return document
            if over == before:
                break  # less on each page did not help: a strip is longer than any page
            before = over
        assert document is not None
        return self.lay_out(pages, _found(document, self.anchors))

    def _measured(self, first: Sequence[Block], body: Sequence[Block]) -> tuple[list[Block], list[Block]]:
        """The strips with their heights, read off a galley."""
        marked = [
            replace(strip, mark=f"strip-{place}", item=_marked(strip.item, f"strip-{place}"))
            for place, strip in enumerate([*first, *body])
        ]
        briefs = [
            replace(strip, mark=f"{strip.mark}b", item=replace(strip.item, brief=True, mark=f"{strip.mark}b"))
            for strip in marked
            if isinstance(strip.item, Columns)
        ]
        galley = Page(tuple(replace(strip, gap=0.0) for strip in (*marked, *briefs)))
        found = self.measure(galley, dict.fromkeys(self.anchors, 0))
        self.at = {name: place * MM_PER_PX for name, place in found.items()}
        names = [strip.mark for strip in (*marked, *briefs)] + [END]
        heights = {
            name: self.at[after] - self.at[name] for name, after in zip(names, names[1:], strict=False)
        }
        heads = {
            strip.kind: self.at[f"{strip.mark}-row"] - self.at[strip.mark]
            for strip in marked
            if f"{strip.mark}-row" in self.at
        }
        measured = [self._with_height(strip, heights[strip.mark], heads) for strip in marked]
        return measured[: len(first)], measured[len(first) :]

    def _with_height(self, strip: Block, height: float, heads: Mapping[str, float]) -> Block:
        """A measured strip; the first row of a table has its head over it, the others if they begin a page."""
        again = 0.0 if f"{strip.mark}-row" in self.at else heads.get(strip.kind, 0.0)
        return replace(strip, height=height + strip.more, head=again, mark="")

    def _make_up(self, first: Sequence[Block], body: Sequence[Block], page_mm: float) -> list[Page]:
        if not any(isinstance(strip.item, Columns) for strip in first):
            return make_up([*first, *body], page_mm)
        for close, brief in ((False, False), (True, False), (True, True)):
            page = [self._columns(strip, close, brief) for strip in first]
            room = page_mm - _filled(page, close)
            if room < 0:
                continue
            rules = self._rules(page, close, brief, room)
            if not self.to_write:
                break
            if rules <= MOST_RULES or not body:
                ruled = self._ruled(page, close, brief, min(rules, 2 * MOST_RULES))
                return [Page(tuple(ruled), close), *make_up(body, page_mm)]
            return min((self._joined(page, close, brief, n, body, page_mm) for n in SOME_RULES), key=len)
        brief = self.side_by_side
        page = [self._columns(strip, brief, brief) for strip in first]
        ways = [
            make_up([*self._ruled(page, brief, brief, n), *body], page_mm)
            for n in (SOME_RULES if self.to_write else (0,))
        ]
        return min(ways, key=len)

    def _joined(
        self,
        page: Sequence[Block],
        close: bool,
        brief: bool,
        rules: int,
        body: Sequence[Block],
        page_mm: float,
    ) -> list[Page]:
        """The first page with some lines to write on and with what follows, where it has room for that."""
        ruled = self._ruled(page, close, brief, rules)
        head, *others = make_up(body, page_mm, _filled(ruled, close))
        return [Page((*ruled, *head.strips), close), *others]

    def _columns(self, strip: Block, close: bool, brief: bool) -> Block:
        """The columns in one of their forms, with their height."""
        if not isinstance(strip.item, Columns):
            return strip
        boxes, notes = self._column_heights(strip, close, brief)
        height = max(boxes, notes) if self.side_by_side else boxes + notes
        return replace(strip, item=replace(strip.item, brief=brief), height=height, shrinks=0.0)

    def _column_heights(self, strip: Block, close: bool, brief: bool) -> tuple[float, float]:
        """Heights of the list of boxes and of the notes without lines to write on."""
        assert isinstance(strip.item, Columns)
        mark = f"{strip.item.mark}b" if brief else strip.item.mark
        shrinks = LINE_SHRINKS_MM * len(strip.item.first.boxes) if close else 0.0
        boxes = self.at[f"{mark}-boxes"] - self.at[mark]
        notes = self.at[f"{mark}-notes"] - (self.at[mark] if self.side_by_side else self.at[f"{mark}-boxes"])
        return max(boxes - shrinks, 0.0), notes

    def _rules(self, page: Sequence[Block], close: bool, brief: bool, room: float) -> int:
        """How many lines to write on the notes have room for."""
        strip = next(strip for strip in page if isinstance(strip.item, Columns))
        boxes, notes = self._column_heights(strip, close, brief)
        beside = max(boxes - notes, 0.0) if self.side_by_side else 0.0
        return int((room + beside) / RULE_MM)

    def _ruled(self, page: Sequence[Block], close: bool, brief: bool, rules: int) -> list[Block]:
        """The first page with its lines to write on."""
        ruled = []
        for strip in page:
            if isinstance(strip.item, Columns):
                boxes, notes = self._column_heights(strip, close, brief)
                notes += rules * RULE_MM
                height = max(boxes, notes) if self.side_by_side else boxes + notes
                ruled.append(replace(strip, item=replace(strip.item, rules=rules), height=height))
            else:
                ruled.append(strip)
        return ruled


def _marked(item: object, mark: str) -> object:
    return replace(item, mark=mark) if isinstance(item, Columns) else item


def _filled(strips: Sequence[Block], close: bool) -> float:
    """How much of a page the strips take."""
    total = 0.0
    for place, strip in enumerate(strips):
        gap = 0.0 if not place else strip.close_gap if close else strip.gap
        total += gap + strip.height - (strip.shrinks if close else 0.0)
    return total


def _numbers(pages: Sequence[Page]) -> dict[str, int]:
    """The page that each box begins on."""
    return {
        strip.item.anchor: number
        for number, page in enumerate(pages, start=1)
        for strip in page.strips
        if isinstance(strip.item, BoxPage) and strip.box is None
    }


def _found(document: Document, anchors: Sequence[str]) -> dict[str, int]:
    """The page that each box came to begin on."""
    found: dict[str, int] = {}
    for number, page in enumerate(document.pages, start=1):
        for anchor in anchors:
            if anchor in page.anchors:
                found.setdefault(anchor, number)
    return found
