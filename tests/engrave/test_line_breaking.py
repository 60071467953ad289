"""Line breaking against trying every way to break."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.engrave.line_breaking import Widths, break_lines

NONE: frozenset[int] = frozenset()


def _break(bars: list[float], width: float = 180.0, inside: frozenset[int] = NONE) -> tuple[int, ...]:
    return break_lines(Widths(tuple(bars), 15.0, 8.0), width, NONE, inside, 1.35)


@pytest.mark.parametrize(
    ("count", "systems"),
    [(1, [1]), (4, [4]), (8, [4, 4]), (9, [4, 5]), (12, [4, 4, 4])],
)
def test_even_bars_are_shared_out_evenly(count: int, systems: list[int]) -> None:
    starts = (*_break([34.0] * count), count)
    assert [end - start for start, end in zip(starts, starts[1:], strict=False)] == systems


def test_a_break_moves_to_the_edge_of_a_box_where_that_costs_little() -> None:
    inside = frozenset({2, 3, 4, 6, 7})  # one box of bars 1 to 4, one of bars 5 to 7
    assert _break([30.0] * 9) == (0, 4)
    assert _break([30.0] * 9, inside=inside) == (0, 5)


@pytest.mark.parametrize(
    ("bars", "width", "starts"),
    [
        ([34.0] * 4, 110.0, (0, 2)),  # a scale of four bars where three fit: not one bar alone at the end
        ([56.0] * 4, 180.0, (0, 2)),  # a box with its context, four bars of many notes
        ([38.0, 38.0, 38.0, 38.0, 12.0], 180.0, (0,)),  # a note to land on stays with what it ends
    ],
)
def test_no_bar_is_left_over_alone(bars: list[float], width: float, starts: tuple[int, ...]) -> None:
    assert _break(bars, width) == starts


def test_a_bar_wider_than_the_system_still_gets_one() -> None:
    assert _break([40.0, 400.0, 40.0]) == (0, 1, 2)


widths = st.lists(st.floats(8, 90), min_size=1, max_size=8)


@given(widths)
def test_every_break_is_in_order_and_the_first_is_the_start(bars: list[float]) -> None:
    breaks = _break(bars)
    assert breaks[0] == 0
    assert list(breaks) == sorted(set(breaks))
    assert breaks[-1] < len(bars)


@given(widths)
def test_no_other_way_to_break_crowds_the_fullest_system_less_with_as_many_systems(bars: list[float]) -> None:
    table = Widths(tuple(bars), 15.0, 8.0)
    breaks = _break(bars)

    def fullest(starts: tuple[int, ...]) -> float:
        ends = (*starts[1:], len(bars))
        return max(table.system(a, b) for a, b in zip(starts, ends, strict=True))

    best = min(fullest((0, *rest)) for rest in combinations(range(1, len(bars)), len(breaks) - 1))
    # What is chosen may be fuller than the best in this one sense, but is only crowded where all ways are.
    assert fullest(breaks) <= max(180.0 * 1.25, best * 1.2)
