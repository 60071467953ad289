"""Takes a workbook apart into the blocks that its pages are made up of."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import Literal

from excerpts.editions import SYSTEM_GAP_MM
from excerpts.workbook.pages import (
    BoxPage,
    Columns,
    DayRow,
    MusicBlock,
    Picture,
    TextItem,
    WeekTable,
    Workbook,
)
from excerpts.workbook.paginate import NEVER, PAGE, Block

Only = Literal["plan", "warm-ups", "boxes"]

LONE = 3 * PAGE
"""Cost of a break that leaves one row or line of several alone: a page more costs less."""


def first_blocks(book: Workbook, *, across: bool, child: bool) -> list[Block]:
    """The first page: its blocks stay together wherever they fit on a page.

    Args:
        book: The workbook.
        across: The days of the week stand side by side.
        child: The page is a child's: the lesson's points and a word to the grown-up come after the week.
    """
    first = book.first
    week, *others = _week(first.tables, across)
    blocks = [Block("head", first), replace(week, gap=5.5, close_gap=3.5, cost=NEVER), *others]
    blocks.append(Block("legend", first, 2.0, 1.4, NEVER))
    if child:
        blocks += [Block("given", note, 2.0, 2.0, 40) for note in first.notes]
        blocks.append(Block("parent", first, 4.0, 3.0, 20))
        return blocks
    blocks.append(Block("columns", Columns(first), 6.0, 3.0, 20))
    blocks.append(Block("care", first, 6.0, 3.5, 30))
    return blocks


def _week(tables: Sequence[WeekTable], across: bool) -> list[Block]:
    """Each table in one piece, or a row for each day."""
    if across:
        return [Block("week", table, 5.5, 3.5, 30) for table in tables]
    days = [DayRow(table, column) for table in tables for column in range(len(table.days))]
    return _rows([Block("day", day, cost=25) for day in days])


def body_blocks(
    book: Workbook, page_mm: float, only: Collection[Only] = (), *, row_mm: float = 0.0, alone: bool = False
) -> list[Block]:
    """Everything after the first page.

    Args:
        book: The workbook.
        page_mm: Height of a page: music that is longer is taken apart into its systems.
        only: Sections that are wanted; empty for all.
        row_mm: Height of a row of a record; 0 where there is no room to write in it.
        alone: Each box begins a page.
    """
    blocks: list[Block] = []
    if not only or "warm-ups" in only:
        blocks += _section("warm-up", _blocks(book.warmup_texts, book.warmups, page_mm))
    if not only:
        blocks += _section("technique", _blocks(book.technique_texts, book.studies, page_mm))
    if only and "boxes" in only:
        blocks += _section("passages", [block for box in book.boxes for block in _opening(box, page_mm)])
    elif not only:
        boxes = [block for box in book.boxes for block in _box(box, page_mm, row_mm)]
        blocks += _section("passages", [replace(one, begins=alone and one.box is None) for one in boxes])
        blocks += _section("repertoire", _rows([Block("piece", piece, cost=2) for piece in book.pieces]))
    if blocks:
        blocks.append(Block("copying", book.copying, 6.0, 4.0, NEVER))
    return blocks


def _section(name: str, blocks: list[Block]) -> list[Block]:
    """A section with its head, which stays with what comes first."""
    if not blocks:
        return []
    first = replace(blocks[0], gap=5.0, close_gap=3.0, cost=NEVER, begins=False)
    return [Block("section", name, 9.0, 5.5, 1, begins=blocks[0].begins), first, *blocks[1:]]


def _rows(rows: list[Block]) -> list[Block]:
    """Rows of a table or lines of a list: no break leaves one of them alone."""
    return [replace(row, cost=LONE) if place in {1, len(rows) - 1} else row for place, row in enumerate(rows)]


def _blocks(texts: tuple[TextItem, ...], music: tuple[MusicBlock, ...], page_mm: float) -> list[Block]:
    blocks = _rows([Block("text", item, 2.0, 2.0, 6) for item in texts])
    for one in music:
        blocks += _cut(_music(one, 6.0, 3.5, 4), one, page_mm)
    return blocks


def _music(music: MusicBlock, gap: float, close_gap: float, cost: int, box: BoxPage | None = None) -> Block:
    """Music with its heading: as high as any with these words, but for the pictures."""
    words = (music.title, music.instruction, music.mark, music.note, music.minutes)
    alike = (*words, bool(music.systems), box is None)
    return Block("music", music, gap, close_gap, cost, box, alike=alike, pictures=_height(music.systems))


def _height(pictures: Sequence[Picture]) -> float:
    """Height of pictures below one another."""
    return sum(picture.height for picture in pictures) + SYSTEM_GAP_MM * max(len(pictures) - 1, 0)


def _cut(block: Block, music: MusicBlock, page_mm: float) -> list[Block]:
    """Music in one piece, or with every system by itself where no page holds it."""
    if _height(music.systems) + SYSTEM_GAP_MM < 0.75 * page_mm or len(music.systems) < 2:
        return [block]
    first, *others = music.systems
    item = replace(music, systems=(first,)) if block.item is music else _opened(block.item, first)
    return [
        replace(block, item=item, pictures=first.height),
        *(_system(other, block.box) for other in others),
    ]


def _opened(item: object, first: Picture) -> BoxPage:
    assert isinstance(item, BoxPage)
    assert item.music is not None
    return replace(item, music=replace(item.music, systems=(first,)))


def _system(system: Picture, box: BoxPage | None) -> Block:
    return Block("system", system, SYSTEM_GAP_MM, SYSTEM_GAP_MM, 60, box=box)


def _opening(box: BoxPage, page_mm: float) -> list[Block]:
    """Title and music of a box."""
    block = Block("opening", box, 11.0, 6.5)
    if box.music is None:
        return [block]
    first, *others = _cut(block, box.music, page_mm)
    return [first, *(replace(other, box=box) for other in others)]


def _box(box: BoxPage, page_mm: float, row_mm: float) -> Iterator[Block]:
    yield from _opening(box, page_mm)
    if box.recipe:
        yield Block("recipe", box, 5.5, 3.5, 40, box=box, alike=(box.recipe, box.others))
    for place, variant in enumerate(box.variants):
        yield from _cut(_music(variant, 6.0, 3.5, 10 if place else 14, box), variant, page_mm)
    for word in box.spoken:
        yield Block("spoken", word, 4.0, 3.0, 50, box=box)
    if box.record:
        rows = 0 if box.record.circles or not row_mm else len(box.record.days)
        parted = 16 if box.variants else 40
        more = row_mm * max(rows - 1, 0)
        # A row is as high as any other, and a number is as wide as any of so many digits.
        head = (replace(box.record, days=()), box.tells_runs, len(str(box.number))) if rows else None
        yield Block("record", box, 7.0, 4.0, parted, box, more, alike=head)
