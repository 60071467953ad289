"""Path data and maps. The letters and their meaning: W3C SVG 2, chapter "Paths"."""

from __future__ import annotations

import pytest
from fontTools.misc.transform import Transform
from hypothesis import given
from hypothesis import strategies as st

from excerpts.engrave.svg.paths import Outline, read_path
from excerpts.engrave.svg.shapes import read_transform
from excerpts.errors import EngravingError

numbers = st.integers(-5000, 5000)
points = st.tuples(numbers, numbers)


def test_reads_every_letter_absolute_and_relative() -> None:
    absolute = read_path("M10 20 L30 20 H40 V50 C41 51 42 52 43 53 S46 56 47 57 Q50 60 53 57 T59 57 Z")
    relative = read_path("m10 20 l20 0 h10 v30 c1 1 2 2 3 3 s3 3 4 4 q3 3 6 0 t6 0 z")
    assert [letter for letter, _ in absolute.ops] == ["M", "L", "L", "L", "C", "C", "C", "C", "Z"]
    for (_, one), (_, other) in zip(absolute.ops, relative.ops, strict=True):
        assert one == pytest.approx(other)


def test_a_smooth_curve_mirrors_the_handle_before_it() -> None:
    outline = read_path("M0 0 C0 10 10 10 10 0 S20 -10 20 0")
    assert outline.ops[2] == ("C", (10, -10, 20, -10, 20, 0))


def test_an_arc_becomes_curves() -> None:
    outline = read_path("M0 0 A5 5 0 0 1 10 0")
    assert {letter for letter, _ in outline.ops} == {"M", "C"}
    assert outline.ops[-1][1][-2:] == pytest.approx((10, 0))
    assert outline.box is not None
    assert outline.box.top == pytest.approx(-5)


def test_numbers_after_a_move_are_lines() -> None:
    assert read_path("m1 1 2 2 3 3").ops == (("M", (1, 1)), ("L", (3, 3)), ("L", (6, 6)))


def test_numbers_may_stand_without_spaces() -> None:
    assert read_path("M.5-.5L1e1-2").ops == (("M", (0.5, -0.5)), ("L", (10, -2)))


def test_a_relative_move_after_closing_starts_from_the_start_of_the_shape() -> None:
    assert read_path("M10 10 l5 0 z m1 1 l1 0").ops[3] == ("M", (11, 11))


@pytest.mark.parametrize("data", ["L1 1", "M0 0 L1", "M0 0 C1 1 2 2 3", "M0 0 A5 5", "M0 0 B1 1"])
def test_what_is_not_known_is_refused(data: str) -> None:
    with pytest.raises(EngravingError):
        read_path(data)


@given(st.lists(points, min_size=2, max_size=8))
def test_the_box_holds_every_point(corners: list[tuple[int, int]]) -> None:
    data = "M" + " L".join(f"{x} {y}" for x, y in corners)
    box = read_path(data).box
    assert box is not None
    assert (box.left, box.right) == (min(x for x, _ in corners), max(x for x, _ in corners))
    assert (box.top, box.bottom) == (min(y for _, y in corners), max(y for _, y in corners))


maps = st.builds(Transform, *[st.integers(-4, 4).map(float)] * 6)


@given(maps, st.lists(points, min_size=2, max_size=6))
def test_an_outline_moves_point_by_point(by: Transform, corners: list[tuple[int, int]]) -> None:
    outline = Outline(tuple(("M" if not i else "L", point) for i, point in enumerate(corners)))
    moved = outline.mapped(by)
    for (_, before), (_, after) in zip(outline.ops, moved.ops, strict=True):
        assert after == pytest.approx(by.transformPoint(before))


def test_transform_lists_apply_from_right_to_left() -> None:
    assert read_transform("translate(10, 20) scale(2, -2)").transformPoint((1, 1)) == (12, 18)


def test_rotation_is_clockwise_round_its_centre() -> None:
    assert read_transform("rotate(90 5,5)").transformPoint((6, 5)) == pytest.approx((5, 6))
