"""Making up pages: the fewest pages, breaks where they disturb least, nothing on a page that it does not hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.editions import Edition, edition
from excerpts.workbook.blocks import body_blocks, first_blocks
from excerpts.workbook.page_fit import Fitter
from excerpts.workbook.pages import BoxPage, DayHead, FirstPage, PieceRow, WeekTable, Workbook
from excerpts.workbook.paginate import EMPTY, NEVER, SAFE_MM, TIGHT, TURN, Block, Page, Paginator

PAGE = 100.0
RUNNING_MM = edition("a4").running
FIRST = FirstPage("", "", "", (), "", (), (), ())
ROW = PieceRow("Air", "", "", (), "", "")
BOX = BoxPage("box-1", 1, "Air", "", "", None, 0.0, (), "", (), (), None)


def block(
    height: float, cost: int = 0, gap: float = 0.0, box: BoxPage | None = None, close_gap: float | None = None
) -> Block:
    close = gap if close_gap is None else close_gap
    return Block("any", height, gap, close, cost, box, height=height)


def make_up(blocks: Sequence[Block], page_mm: float) -> list[Page]:
    return Paginator(blocks, page_mm, running=RUNNING_MM).divide().pages


def height(page: Page) -> float:
    """How much of a page is filled."""
    total = page.blocks[0].head + (RUNNING_MM if page.running else 0.0)
    for place, one in enumerate(page.blocks):
        total += one.height
        total += 0.0 if not place else one.close_gap if page.tight else one.gap
    return total


heights = st.floats(1, PAGE - SAFE_MM, allow_nan=False)
blocks = st.lists(
    st.builds(block, heights, st.sampled_from([0, 4, 16, 40, NEVER]), st.floats(0, 12)), max_size=9
)


@given(blocks)
def test_nothing_is_lost_and_no_page_is_too_full(given_blocks: list[Block]) -> None:
    pages = make_up(given_blocks, PAGE)
    assert [one for page in pages for one in page.blocks] == given_blocks
    for page in pages:
        assert page.blocks
        assert height(page) <= PAGE + 0.1


@given(blocks)
def test_no_other_division_is_better(given_blocks: list[Block]) -> None:
    """Against every division there is, by brute force: what must not part, the pages, what breaks and white cost."""

    def rank(pages: list[Page]) -> tuple[int, int, int]:
        cost = sum(page.blocks[0].cost for page in pages[1:]) + TIGHT * sum(page.tight for page in pages)
        cost += EMPTY * sum(1 - height(page) / PAGE > 0.5 for page in pages[:-1])
        return cost // NEVER, len(pages), cost % NEVER

    ways: list[tuple[int, int, int]] = []
    for breaks in product((False, True), repeat=max(len(given_blocks) - 1, 0)):
        parts: list[list[Block]] = [[given_blocks[0]]] if given_blocks else []
        for one, begins in zip(given_blocks[1:], breaks, strict=True):
            if begins:
                parts.append([])
            parts[-1].append(one)
        pages = [Page(tuple(part)) for part in parts]
        if all(height(page) <= PAGE - SAFE_MM for page in pages):
            ways.append(rank(pages))
    if given_blocks:
        assert rank(make_up(given_blocks, PAGE)) <= min(ways)


def test_a_heading_stays_with_what_follows() -> None:
    pages = make_up([block(60), block(10), block(50, NEVER)], PAGE)
    assert [len(page.blocks) for page in pages] == [1, 2]


def test_no_page_is_saved_by_a_heading_without_its_text() -> None:
    together = [block(60), block(15), block(20), block(65, NEVER), block(30)]
    assert [len(page.blocks) for page in make_up(together, PAGE)] == [2, 2, 1]
    free = [*together[:3], block(65), together[4]]
    assert [len(page.blocks) for page in make_up(free, PAGE)] == [3, 2]


def test_a_break_goes_where_it_disturbs_least() -> None:
    pages = make_up([block(40), block(30, 40), block(20, 16), block(30, 0)], PAGE)
    assert [len(page.blocks) for page in pages] == [3, 1]


def test_less_air_is_taken_only_where_it_saves_a_page() -> None:
    both = [block(60), block(38, gap=4, close_gap=1)]
    (page,) = make_up(both, PAGE)
    assert page.tight
    (loose,) = make_up([block(60), block(30, gap=4, close_gap=1)], PAGE)
    assert not loose.tight


def test_a_box_that_goes_on_is_named_at_the_top_of_the_page() -> None:
    first, second = make_up([block(80), block(60, 16, box=BOX)], PAGE)
    assert first.running is None
    assert second.running is BOX
    (alone,) = make_up([block(80)], PAGE)
    assert alone.running is None


def test_the_line_that_names_it_takes_its_room() -> None:
    assert len(make_up([block(90), block(PAGE - RUNNING_MM - 1, box=BOX)], PAGE)) == 2
    assert len(make_up([block(90), block(50, box=BOX), block(50, box=BOX)], PAGE)) == 3


def test_a_table_that_goes_on_has_its_head_again() -> None:
    rows = [replace(block(45), head=0.0), *(replace(block(45), head=9.0) for _ in range(3))]
    assert [len(page.blocks) for page in make_up(rows, PAGE)] == [2, 2]
    higher = [replace(row, head=11.0 if row.head else 0.0) for row in rows]
    assert [len(page.blocks) for page in make_up(higher, PAGE)] == [2, 1, 1]


def test_a_strip_longer_than_a_page_stands_alone() -> None:
    pages = make_up([block(50), block(250), block(50)], PAGE)
    assert [len(page.blocks) for page in pages] == [1, 1, 1]


def test_the_first_page_goes_on_with_what_follows_where_that_saves_a_page() -> None:
    body = [block(60, gap=10), block(60)]
    assert [len(page.blocks) for page in Paginator(body, PAGE).divide([block(20)]).pages] == [2, 1]
    assert [len(page.blocks) for page in Paginator(body, PAGE).divide([block(80)]).pages] == [1, 1, 1]


@given(blocks, blocks)
def test_a_first_page_is_divided_as_if_all_were_searched_at_once(
    first: list[Block], body: list[Block]
) -> None:
    assert Paginator(body, PAGE).divide(first) == Paginator([*first, *body], PAGE).divide()


def test_no_leaf_is_turned_inside_a_box_where_no_page_more_is_needed() -> None:
    blocks = [block(60), block(35), block(40, 14, box=BOX), block(40, 14, box=BOX), block(50)]
    assert [len(page.blocks) for page in Paginator(blocks, PAGE, running=RUNNING_MM).divide().pages] == [
        2,
        2,
        1,
    ]
    assert [
        len(page.blocks) for page in Paginator(blocks, PAGE, spreads=True, running=RUNNING_MM).divide().pages
    ] == [1, 2, 2]
    over = Paginator([block(95), block(60, 14, box=BOX)], PAGE, spreads=True, running=RUNNING_MM).divide()
    assert (len(over.pages), over.cost) == (2, 14 + TURN)


def _fitted(blocks: list[Block], size: Edition) -> list[int]:
    """How many blocks each page has, in an edition whose pages are as high as those of the other tests."""
    fitter = Fitter(lambda *_: None, lambda *_: {}, (), size)
    return [len(page.blocks) for page in fitter._divided([], blocks, PAGE)]


def test_a_page_more_keeps_the_leaf_from_being_turned_inside_a_box() -> None:
    """In a box that one page holds: not where the parts lie open, nor where most of a page would be left empty."""
    box = [block(45), block(35, 14, box=BOX)]
    assert _fitted([block(51), *box, block(55)], edition("a4")) == [1, 2, 1]
    assert _fitted([block(30), *box, block(55)], edition("a4")) == [2, 2]
    assert _fitted([block(95), block(51), *box, block(55)], edition("a4")) == [1, 2, 2]
    assert _fitted([block(51), *box, *box, block(51)], edition("a4")) == [1, 2, 2, 1]


def test_three_boxes_of_two_pages_lie_open_for_a_page_more() -> None:
    """Two leaves are turned inside boxes sooner than a page more is printed; three leaves are not."""
    before, box = [block(33)] * 6, [block(80), block(60, 14, box=BOX)]
    assert _fitted([*before, *box * 2], edition("a4")) == [3, 3, 1, 1, 1, 1]
    assert _fitted([*before, *box * 3], edition("a4")) == [2, 2, 2, 1, 1, 1, 1, 1, 1]


@given(st.integers(4, 14), st.floats(0, 60))
def test_no_day_of_a_week_stands_alone(count: int, above: float) -> None:
    """Wherever the page ends: the first two days stay with the head, and the last two with each other."""
    first = replace(FIRST, tables=(WeekTable((DayHead("", "", 30),) * count, ()),))
    book = Workbook("", "", "", "", "", "", first, (), (), (), (), (), ())
    blocks = [replace(one, height=16.0) for one in first_blocks(book, across=False, child=False)]
    pages = make_up([replace(blocks[0], height=above), *blocks[1:-2]], PAGE)
    counts = [sum(one.kind == "day" for one in page.blocks) for page in pages]
    assert 1 not in counts
    assert pages[0].blocks[-1].kind != "head"


def test_the_pages_that_a_folded_sheet_has_anyway_keep_boxes_whole() -> None:
    """Three pages would break a box; a fourth page costs no sheet, but one of paper that is not folded."""
    blocks = [block(95), block(30), block(50), block(30, 14, box=BOX), block(60)]
    assert _fitted(blocks, edition("a4")) == [1, 2, 2]
    assert _fitted(blocks, edition("booklet")) == [1, 1, 2, 1]


@given(blocks)
def test_no_sheet_is_folded_more_than_the_fewest_pages_take(given_blocks: list[Block]) -> None:
    few, folded = (len(_fitted(given_blocks, edition(name))) for name in ("a4", "booklet"))
    assert -(-few // 4) == -(-folded // 4)


def test_a_block_that_begins_a_page_does_so_wherever_it_stands() -> None:
    blocks = [
        block(20),
        block(10),
        replace(block(10), begins=True),
        block(10),
        replace(block(10), begins=True),
    ]
    assert [len(page.blocks) for page in make_up(blocks, PAGE)] == [2, 2, 1]


@pytest.mark.parametrize(
    ("count", "above", "kinds"),
    [
        (5, 5.0, [["any", "piece", "piece", "piece"], ["piece", "piece", "copying"]]),
        (3, 65.0, [["any"], ["piece", "piece", "piece", "copying"]]),
        (3, 30.0, [["any"], ["piece", "piece", "piece", "copying"]]),
    ],
)
def test_no_row_stands_alone(count: int, above: float, kinds: list[list[str]]) -> None:
    """A row of several has company at the foot and at the head of a page, and so has the line on copying."""
    book = Workbook("", "", "", "", "", "free to copy", FIRST, (), (), (), (), (), (ROW,) * count)
    rows = [replace(one, height=20.0) for one in body_blocks(book, PAGE) if one.kind != "section"]
    pages = make_up([block(above), replace(rows[0], cost=2), *rows[1:]], PAGE)
    assert [[one.kind for one in page.blocks] for page in pages] == kinds


def test_rows_stand_together_in_one_table() -> None:
    rows = [replace(block(10), kind="piece") for _ in range(3)]
    page = Page((block(5), *rows, block(5)))
    assert [(group.kind, len(group.blocks)) for group in page.groups] == [
        ("any", 1),
        ("piece", 3),
        ("any", 1),
    ]
