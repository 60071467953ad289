from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.instruments.instrument import LEVELS, Level
from excerpts.week.plan.choice import Rotation
from excerpts.week.plan.minutes import (
    SHORT,
    apportion,
    break_count,
    break_minutes,
    break_places,
    day_sections,
    most_in_depth,
)
from excerpts.week.plan.workload import recipe
from excerpts.weekfile.settings import SECTIONS


@pytest.mark.parametrize(
    ("total", "sections", "breaks", "in_depth"),
    [
        (15, (2, 4, 5, 4), 0, 1),
        (30, (5, 7, 9, 9), 0, 1),
        (45, (6, 10, 12, 12), 5, 2),
        (60, (8, 12, 15, 15), 10, 2),
        (90, (11, 19, 23, 22), 15, 3),
        (120, (15, 25, 30, 30), 20, 4),
    ],
)
def test_usual_sessions(total: int, sections: tuple[int, ...], breaks: int, in_depth: int) -> None:
    """Worked table of 15/25/30/30 per cent of the playing time, largest remainders, ties to the earlier.

    The shares are common practice without a source; the arithmetic was done by hand.
    """
    assert break_minutes(total) == breaks
    teachers = dict(zip(SECTIONS, (15, 25, 30, 30), strict=True))  # which hold on short days too
    assert tuple(day_sections(total - breaks, "middle", own=teachers).values()) == sections
    assert total < SHORT or tuple(day_sections(total - breaks, "middle").values()) == sections
    assert most_in_depth(total) == in_depth


def test_shares_shift_with_the_level() -> None:
    assert tuple(day_sections(20, "first").values()) == (4, 5, 4, 7)
    assert tuple(day_sections(100, "advanced").values()) == (10, 30, 30, 30)


def test_technique_drops_out_of_a_short_day() -> None:
    assert day_sections(15, "middle", SECTIONS) == {"warm-up": 3, "passages": 8, "repertoire": 4}
    assert day_sections(7, "middle", SECTIONS) == {"passages": 5, "repertoire": 2}
    assert day_sections(20, "middle", SECTIONS)["technique"] == 5
    assert day_sections(10, "middle", ["technique"]) == {"technique": 10}


def test_an_empty_section_gives_its_minutes_to_the_others() -> None:
    assert day_sections(30, "middle", ["warm-up", "repertoire"]) == {"warm-up": 10, "repertoire": 20}


_WEIGHTS = st.lists(st.fractions(0, 50), min_size=1, max_size=8)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2000), _WEIGHTS)
def test_apportioned_minutes_add_up_and_are_near_their_exact_share(
    total: int, weights: list[Fraction]
) -> None:
    parts = apportion(total, weights)
    whole = sum(weights)
    if not whole:
        assert parts == [0] * len(weights)
        return
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - total * weight / whole) < 1
        assert part >= 0


@settings(deadline=None)
@given(st.integers(1, 1440), st.sampled_from(LEVELS), st.sets(st.sampled_from(SECTIONS), min_size=1))
def test_sections_of_any_day_add_up(minutes: int, level: Level, filled: set[str]) -> None:
    shares = day_sections(minutes, level, [section for section in SECTIONS if section in filled])
    assert sum(shares.values()) == minutes
    assert set(shares) <= filled


@settings(deadline=None)
@given(st.integers(1, 1440), st.lists(st.integers(1, 90), min_size=1, max_size=12))
def test_never_more_than_thirty_minutes_without_a_break(total: int, weights: list[int]) -> None:
    playing = total - break_minutes(total)
    items = apportion(playing, weights)
    places = break_places(break_count(total), items)
    edges = (0, *places, playing)
    blocks = [later - earlier for earlier, later in zip(edges, edges[1:], strict=False)]
    assert len(places) == break_count(total)
    assert all(0 < block <= 30 for block in blocks)


def test_a_break_falls_between_two_items_where_it_can() -> None:
    assert break_places(1, (6, 10, 12, 12)) == (16,)
    assert break_places(1, (1, 39)) == (20,)  # not after the first minute


def test_turns_go_round() -> None:
    turns = Rotation([1] * 5)
    days = []
    for _ in range(6):
        today = turns.next(2)
        days.append(today)
        for item in today:
            turns.played(item)
    assert days == [[0, 1], [2, 3], [4, 0], [1, 2], [3, 4], [0, 1]]
    assert turns.turns == [3, 3, 2, 2, 2]


def test_weight_two_comes_twice_as_often() -> None:
    turns = Rotation([2, 1])
    for _ in range(9):
        turns.played(turns.next(1)[0])
    assert turns.turns == [6, 3]


def test_who_must_come_comes_and_ties_go_to_the_liked() -> None:
    assert Rotation([1, 1, 1]).next(2, first=[2]) == [2, 0]
    assert Rotation([1, 1, 1]).next(1, liked=[1]) == [1]
    assert Rotation([1, 1, 1]).next(1, first=[2, 1]) == [2, 1]


@settings(deadline=None)
@given(st.integers(1, 400), st.booleans(), st.booleans())
def test_recipe_adds_up(minutes: int, rhythms: bool, context: bool) -> None:
    steps = recipe(minutes, rhythms=rhythms, context=context)
    names = [step.name for step in steps]
    assert sum(step.minutes for step in steps) == minutes
    assert all(step.minutes >= 1 for step in steps)
    order = ("slow", "pieces", "rhythms", "written", "context")
    assert names == [name for name in order if name in names]
    assert rhythms or "rhythms" not in names
    assert context or "context" not in names
    assert names[0] == "slow"


def test_recipe_of_a_usual_box() -> None:
    assert [(step.name, step.minutes) for step in recipe(10)] == [
        ("slow", 2), ("pieces", 2), ("rhythms", 2), ("written", 2), ("context", 2),
    ]  # fmt: skip
    assert [step.name for step in recipe(3)] == ["slow", "rhythms", "context"]
    assert [step.name for step in recipe(5, rhythms=False)] == ["slow", "pieces", "written", "context"]
    assert recipe(0) == ()
