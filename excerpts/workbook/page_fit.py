"""Fits a workbook to its pages: measures its blocks, divides them among pages, and lays these out.

Laying out pages and looking where they end would take many trials. So every block is laid out once on a page without
an end, where its height is read; of those that differ in their pictures only, the first is. The pages are then found
by arithmetic and laid out as they will be printed, with their page numbers known. (Tried instead: whole workbooks
broken by CSS alone, loose and close. Two layouts took a quarter more than measuring and one layout, and came to eight
pages where these are seven.)
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import TYPE_CHECKING, Final

from excerpts.editions import Edition
from excerpts.workbook.pages import BoxPage, Columns
from excerpts.workbook.paginate import NEVER, PAGE, Block, Division, Page, Paginator
from excerpts.workbook.reader import Reader

if TYPE_CHECKING:
    from weasyprint import Document

MM_PER_PX = 25.4 / 96
RULE_MM = 8.0
"""Height of a line to write on."""

MOST_RULES = 12
SOME_RULES = 4
"""Lines to write on that a first page has at most, and that it should have if no page more is needed for them."""

PARTED, BRIEF, LACKING = 200, 10, 2
"""Costs of a first page that goes on over the leaf, of boxes without their reasons, of each line that is lacking."""

TRIALS = 3
"""Layouts after which pages that came out otherwise than planned are taken as they are."""

_PRICES = (NEVER, PAGE, 0)
"""Prices of a page that are tried where a page more may cost no sheet more."""

LESS_MM = 3.0
"""What a page holds less in the next trial."""

LayOut = Callable[[Sequence[Page], Mapping[str, int]], "Document"]
"""Lays out pages, given the page of each box."""

Measure = Callable[[Page, Mapping[str, int]], Mapping[str, float]]
"""Tells where everything that has a name stands on a page without an end, in CSS pixels."""


def size_rules(size: Edition, reader: Reader) -> str:
    """The sizes that pages are divided by, as CSS."""
    return (
        f"{size.page_rules}.rule{{height:{RULE_MM}mm}}.running{{height:{size.running}mm}}"
        f".record td{{height:{reader.row_mm}mm}}.paste .staff i{{height:{reader.staff_mm / 4}mm}}"
    )


class Fitter:
    """Fits one workbook to its pages.

    Args:
        lay_out: Lays out pages.
        measure: Measures blocks.
        anchors: Names of the boxes that have pages of their own.
        size: The edition.
    """

    def __init__(self, lay_out: LayOut, measure: Measure, anchors: Sequence[str], size: Edition) -> None:
        self.lay_out = lay_out
        self.measure = measure
        self.anchors = anchors
        self.size = size
        self.at: dict[str, float] = {}

    def fit(self, first: Sequence[Block], body: Sequence[Block]) -> Document:
        """Lay out a workbook in few pages that it looks well in.

        Args:
            first: The first page; empty where there is none.
            body: What follows.
        """
        first, body = self._measured(first, body)
        before = 0
        for trial in range(TRIALS):
            pages = self._divided(first, body, self.size.text_height - LESS_MM * trial)
            document = self.lay_out(pages, _planned(pages))
            over = len(document.pages) - len(pages)
            if not over:
                return document
            if over == before:
                break  # less on each page did not help: a block is longer than any page
            before = over
        return self.lay_out(pages, _laid_out(document, self.anchors))

    def _measured(self, first: Sequence[Block], body: Sequence[Block]) -> tuple[list[Block], list[Block]]:
        """The blocks with their heights."""
        marked = [
            replace(block, mark=f"block-{place}", item=_marked(block.item, f"block-{place}"))
            for place, block in enumerate([*first, *body])
        ]
        briefs = [
            replace(block, mark=f"{block.mark}b", item=replace(block.item, brief=True, mark=f"{block.mark}b"))
            for block in marked
            if isinstance(block.item, Columns)
        ]
        models = {_likeness(block): block for block in reversed(marked)}
        blocks = [*(block for block in marked if models[_likeness(block)] is block), *briefs]
        placed = self.measure(
            Page(tuple(replace(block, gap=0.0) for block in blocks)), dict.fromkeys(self.anchors, 0)
        )
        self.at = {name: place * MM_PER_PX for name, place in placed.items()}
        ends = [*(block.mark for block in blocks[1:]), END]
        heights = {
            block.mark: self.at[end] - self.at[block.mark] for block, end in zip(blocks, ends, strict=True)
        }
        heads = {
            block.kind: self.at[f"{block.mark}-row"] - self.at[block.mark]
            for block in marked
            if f"{block.mark}-row" in self.at
        }
        measured = []
        for block in marked:
            model = models[_likeness(block)]
            height = heights[model.mark] + block.pictures - model.pictures
            measured.append(self._with_height(block, height, heads))
        return measured[: len(first)], measured[len(first) :]

    def _with_height(self, block: Block, height: float, heads: Mapping[str, float]) -> Block:
        """A measured block; the first row of a table has its head over it, the others if they begin a page."""
        again = 0.0 if f"{block.mark}-row" in self.at else heads.get(block.kind, 0.0)
        return replace(block, height=height + block.more, head=again, mark="")

    def _divided(self, first: Sequence[Block], body: Sequence[Block], page_mm: float) -> list[Page]:
        """The best pages over all forms of the first page: with and without reasons, with lines to write on."""
        forms = [
            (brief, rules)
            for brief in (False, True)
            for rules in range(MOST_RULES if self.size.to_write else 0, -1, -1)
        ]
        if not any(isinstance(block.item, Columns) for block in first):
            forms = [(False, SOME_RULES)]
        ways: list[tuple[tuple[object, ...], Division]] = []
        for price in _PRICES if self.size.folded else (PAGE,):
            paginator = Paginator(
                body, page_mm, spreads=self.size.to_write, running=self.size.running, price=price
            )
            for brief, rules in forms:
                division = paginator.divide([self._form(block, brief, rules) for block in first])
                ways.append((self._rank(division, brief, rules, len(first)), division))
        return min(ways, key=lambda way: way[0])[1].pages

    def _rank(self, division: Division, brief: bool, rules: int, first: int) -> tuple[object, ...]:
        """How good a division is, less being better, with a first page in one of its forms of so many blocks.

        A sheet that is folded has four pages whether they are printed or not, so that none of them is saved.
        """
        pages = division.pages
        parted = bool(first) and len(pages[0].blocks) < first
        cost = division.cost + PARTED * parted + BRIEF * brief + LACKING * max(SOME_RULES - rules, 0)
        sheets = ceil(len(pages) / 4) if self.size.folded else 0
        price = 0 if self.size.folded else PAGE
        return division.forbidden, sheets, len(pages) * price + cost, len(pages), division.white

    def _form(self, block: Block, brief: bool, rules: int) -> Block:
        """The list of boxes and the notes in one of their forms, with its height; any other block as it is."""
        if not isinstance(block.item, Columns):
            return block
        mark = f"{block.item.mark}b" if brief else block.item.mark
        middle = self.at[f"{mark}-boxes"]
        boxes = middle - self.at[mark]
        notes = self.at[f"{mark}-notes"] - (middle if self.size.narrow else self.at[mark]) + rules * RULE_MM
        height = boxes + notes if self.size.narrow else max(boxes, notes)
        return replace(block, item=replace(block.item, brief=brief, rules=rules), height=height)


def _likeness(block: Block) -> tuple[str, object]:
    """What is the same for blocks that are measured once."""
    return block.kind, block.mark if block.alike is None else block.alike


def _marked(item: object, mark: str) -> object:
    return replace(item, mark=mark) if isinstance(item, Columns) else item


def _planned(pages: Sequence[Page]) -> dict[str, int]:
    """The page that each box begins on."""
    return {
        block.item.anchor: number
        for number, page in enumerate(pages, start=1)
        for block in page.blocks
        if isinstance(block.item, BoxPage) and block.box is None
    }


def _laid_out(document: Document, anchors: Sequence[str]) -> dict[str, int]:
    """The page that each box came to begin on."""
    numbers: dict[str, int] = {}
    for number, page in enumerate(document.pages, start=1):
        for anchor in anchors:
            if anchor in page.anchors:
                numbers.setdefault(anchor, number)
    return numbers


END: Final = "galley-end"
"""Name of the end of the page that all is measured on."""
