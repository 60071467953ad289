"""Boxes and numbers laid over engraved music: they stand where an engraving with boxes has them (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.engrave import Boxed, Engraving, Style, cut_points, engrave, overlay
from excerpts.engrave.long_rests import with_long_rests
from excerpts.excerpt import Box, Excerpt, Position
from excerpts.score import open_score
from excerpts.system.resources import scores

PLAIN = Style(width_mm=150.0, grey_context=False, draw_box=False, bar_numbers="none")


def whole(name: str, last: int) -> Excerpt:
    path = next(path for path in scores().iterdir() if path.stem == name)
    return replace(open_score(path).part("#1").passage(f"@1-@{last}").cut(0), boxes=())


def engraved(excerpt: Excerpt) -> Engraving:
    return engrave(with_long_rests(excerpt), PLAIN)


@pytest.mark.parametrize(
    ("name", "start", "end"),
    [
        ("loom-study", (2, "0"), (3, "4")),
        ("loom-study", (2, "2"), (4, "1")),
        ("mill-wheel-dance", (3, "3/2"), (6, "3/2")),
        ("evening-ferry", (1, "0"), (9, "1")),
    ],
)
def test_a_box_stands_where_print_has_it(name: str, start: tuple[int, str], end: tuple[int, str]) -> None:
    excerpt = whole(name, 10)
    plain = engraved(excerpt)
    first, last = (start[0], Fraction(start[1])), (end[0], Fraction(end[1]))
    box = Box(Position(first[0] - 1, first[1]), Position(last[0] - 1, last[1]))
    printed = engrave(
        replace(with_long_rests(excerpt), boxes=(box,)), replace(PLAIN, draw_box=True, bar_numbers="system"), ("7",)
    )  # fmt: skip
    if [system.bars[0].bar for system in printed.systems] != [system.bars[0].bar for system in plain.systems]:
        pytest.fail("the lines break otherwise with a box: choose another")
    found = False
    for shown, other in zip(plain.systems, printed.systems, strict=True):
        laid = overlay(plain, shown, [Boxed(first, last, "7")])
        assert len(laid.boxes) == len(other.boxes)
        for mine, theirs in zip(laid.boxes, other.boxes, strict=True):
            found = True
            assert (mine.rect.left, mine.rect.right) == pytest.approx((theirs.rect.left, theirs.rect.right))
            assert (mine.open_left, mine.open_right) == (theirs.open_left, theirs.open_right)
            assert mine.rect.bottom - mine.rect.top == pytest.approx(
                theirs.rect.bottom - theirs.rect.top, abs=0.5
            )
            assert (mine.tag is None) == (theirs.tag is None)
    assert found


def test_boxes_of_before_are_lighter_and_have_no_number() -> None:
    plain = engraved(whole("loom-study", 8))
    box = Boxed((2, Fraction(0)), (3, Fraction(4)), "", earlier=True)
    shown = next(system for system in plain.systems if any(bar.bar == 1 for bar in system.bars))
    laid = overlay(plain, shown, [box])
    assert "#767676" in laid.svg
    assert laid.boxes[0].tag is None
    assert "#767676" not in overlay(plain, shown, [replace(box, earlier=False)]).svg


def test_boxes_elsewhere_leave_the_numbers_alone() -> None:
    plain = engraved(whole("loom-study", 8))
    shown = plain.systems[0]
    away = Boxed((900, Fraction(0)), (901, Fraction(1)), "1")
    assert overlay(plain, shown, [away]) == overlay(plain, shown, [])
    assert overlay(plain, shown, []).svg.count("<path") >= 1  # the number of its first bar


def test_points_inside_a_bar_stand_in_order_between_its_notes() -> None:
    plain = engraved(whole("loom-study", 8))
    system = plain.systems[0]
    bar = system.bars[1]
    onsets = sorted({note.onset for note in system.notes if note.bar == bar.bar and note.onset > 0})
    places = cut_points(plain, system, bar.bar, onsets)
    assert onsets
    assert places == sorted(places)
    assert all(bar.left < place < bar.right for place in places)
    for onset, place in zip(onsets, places, strict=True):
        heads = [note.head for note in system.notes if note.bar == bar.bar and note.onset == onset]
        before = [note.head for note in system.notes if note.bar == bar.bar and note.onset < onset]
        assert all(place <= head.left for head in heads)
        assert all(place >= head.right for head in before)
