from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import LEVELS, Level
from excerpts.week import BoxMusic
from excerpts.week.plan.choice import PieceTurns, Rotation, repertoire, weight_of
from excerpts.week.plan.minutes import (
    SHORT,
    apportion,
    apportion_within,
    break_count,
    break_minutes,
    break_places,
    day_sections,
    most_in_depth,
)
from excerpts.week.plan.workload import recipe
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.settings import SECTIONS
from tests.week.weeks import week


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


@pytest.mark.parametrize(
    ("level", "review", "shares"),
    [
        ("first", False, (20, 25, 20, 35)),
        ("first", True, (20, 20, 20, 40)),
        ("lower", False, (15, 25, 30, 30)),
        ("middle", False, (15, 25, 30, 30)),
        ("upper", False, (15, 25, 30, 30)),
        ("advanced", False, (10, 30, 30, 30)),
    ],
)
def test_shares_of_a_level(level: Level, review: bool, shares: tuple[int, ...]) -> None:
    assert tuple(day_sections(1000, level, review=review).values()) == tuple(10 * share for share in shares)


def test_limits_of_a_day() -> None:
    assert [most_in_depth(minutes) for minutes in (44, 45, 89, 90, 119, 120)] == [1, 2, 2, 3, 3, 4]
    assert day_sections(15, "first", review=True) == {"warm-up": 3, "passages": 4, "repertoire": 8}
    assert set(day_sections(19, "middle")) == {"warm-up", "passages", "repertoire"}
    assert set(day_sections(7, "middle")) == {"passages", "repertoire"}
    assert set(day_sections(8, "middle")) == {"warm-up", "passages", "repertoire"}


def test_technique_drops_out_of_a_short_day() -> None:
    assert day_sections(15, "middle", SECTIONS) == {"warm-up": 3, "passages": 8, "repertoire": 4}
    turn = {"warm-up": 2, "technique": 4, "passages": 5, "repertoire": 4}
    assert [day_sections(15, "middle", SECTIONS, day=day) == turn for day in range(1, 7)] == [
        False, True, False, False, True, False,
    ]  # fmt: skip
    assert sum(day_sections(15, "first", SECTIONS, review=True, day=2).values()) == 15
    assert "technique" not in day_sections(15, "middle", ["passages", "repertoire"], day=2)
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
    assert Rotation([1, 2, 2]).next(2) == [1, 2]


@pytest.mark.parametrize(
    ("weights", "count", "days"),
    [
        ([7, 5, 1], 3, ["01", "0", "01", "012", "01", "0", "01"]),  # the old favourite in mid-week
        ([7, 5, 1], 2, ["01", "0", "01", "01", "02", "01", "01"]),  # it waits for room
        ([5, 5, 5, 5], 2, ["01", "23", "01", "23", "01", "23", "01"]),
        ([3, 1], 1, ["0", "0", "1", "0", "0"]),
        ([1, 8, 5], 1, ["1", "1", "1"]),
        ([14, 7], 1, ["0", "1"]),
        ([1], 2, ["0", "0", "0"]),  # a day has one piece at least
        ([], 2, ["", ""]),
    ],
)
def test_pieces_come_on_as_many_days_as_they_weigh(weights: list[int], count: int, days: list[str]) -> None:
    turns = PieceTurns(weights, len(days))
    came: list[list[int]] = []
    for day in range(1, len(days) + 1):
        came.append(turns.due(day, count))
        for piece in came[-1]:
            turns.played(piece)
    assert ["".join(map(str, day)) for day in came] == days


def test_pieces_that_must_come_and_those_that_must_not() -> None:
    turns = PieceTurns([7, 7, 5], 7)
    assert turns.due(1, 1, first=[2, 1, 2]) == [2, 1]
    assert turns.due(1, 2, first=[2]) == [2, 0]
    assert turns.due(1, 3, without=[0]) == [1, 2]
    assert turns.due(1, 3, without=[0, 1, 2]) == []


@pytest.mark.parametrize(
    ("piece", "level", "days"),
    [
        ("", "middle", 5),
        ('status = "review"', "middle", 1),
        ('status = "review"', "first", 7),
        ('status = "performance"', "middle", 7),
        ("date = 2026-12-12", "middle", 7),
        ('status = "review"\nweight = 3', "first", 3),
    ],
)
def test_a_piece_weighs_what_its_status_says(piece: str, level: str, days: int) -> None:
    made = week(level=level, pieces=0, boxes=0, more=f'[[piece]]\nid = "x"\ntitle = "X"\n{piece}\n')
    assert weight_of(made.pieces[0], made) == days


def test_a_study_takes_turns_as_a_piece_only_with_a_box_or_for_a_concert() -> None:
    more = "".join(f'[[technique]]\npiece = "p{n}"\nbars = "1-4"\n' for n in range(3))
    more += (
        '[[technique]]\npiece = "c"\nbars = "1-4"\n[[piece]]\nid = "c"\ntitle = "C"\nstatus = "performance"\n'
    )
    made = week(pieces=4, boxes=1, technique=0, more=more)
    assert [piece.id for piece in repertoire(made)] == ["p0", "p3", "c"]


def _box(target: int, clean: int) -> BoxItem:
    goal = {"target": Tempo(Fraction(target)), "clean": clean}
    return BoxItem(id="x", abc="C").model_copy(update=goal)


@settings(deadline=None)
@given(
    st.integers(1, 400),
    st.integers(40, 200),
    st.integers(1, 20),
    st.fractions(1, 200, max_denominator=4),
    st.integers(1, 7),
    st.integers(0, 6),
    st.booleans(),
    st.sampled_from(LEVELS),
)
def test_recipe_adds_up_and_as_written_has_the_most(
    minutes: int,
    target: int,
    clean: int,
    quarters: Fraction,
    days: int,
    variants: int,
    context: bool,
    level: str,
) -> None:
    steps = recipe(
        minutes,
        _box(target, clean),
        week(level=level),
        BoxMusic(quarters, 4),
        days=days,
        variants=variants,
        context=context,
    )
    assert sum(steps.values()) == minutes
    assert min(steps.values()) >= 1
    order = ("slow", "pieces", "rhythms", "written", "context")
    assert list(steps) == [name for name in order if name in steps]
    assert variants or "rhythms" not in steps
    assert context or "context" not in steps
    assert "slow" in steps
    assert ("written" in steps) == (minutes > 1)
    assert max(steps.values()) == steps.get("written", 1)


def test_recipe_of_a_usual_box() -> None:
    """By hand, one day, 9 crotchets at 60 and 60: a run takes 12 s.

    As written 10 runs are 120 s, slow 24, in pieces 36, two variants 48, in context 24: of the 20 minutes that are
    left after one each, 9.5, 1.9, 2.9, 3.8 and 1.9.
    """
    box = _box(60, 10).model_copy(update={"start": Tempo(Fraction(60))})
    music = BoxMusic(Fraction(9), 3)
    steps = recipe(25, box, week(), music, variants=2)
    assert steps == {"slow": 3, "pieces": 4, "rhythms": 5, "written": 10, "context": 3}
    assert list(recipe(4, box, week(), music)) == ["slow", "rhythms", "written", "context"]
    assert list(recipe(3, box, week(), music)) == ["slow", "rhythms", "written"]
    assert list(recipe(2, box, week(), music)) == ["slow", "written"]
    assert list(recipe(4, box, week(), music, variants=0)) == ["slow", "pieces", "written", "context"]
    assert recipe(0, box, week(), music) == {}


def test_the_recipe_counts_the_tempos_of_the_first_day() -> None:
    """By hand: 9 crotchets on the first of two days, at 60, 72 and 84 of six tempos, take 12, 10.5 and 9.4 s.

    As written 10 runs each are 319 s, slow 24, in pieces 36, one variant 24, in context at the last of them 19: of the
    42 minutes that are left after one each, 31.8, 2.4, 3.6, 2.4 and 1.9.
    """
    steps = recipe(47, _box(120, 10), week(), BoxMusic(Fraction(9), 3), days=2)
    assert steps == {"slow": 3, "pieces": 5, "rhythms": 3, "written": 33, "context": 3}


def test_recipe_follows_runs_and_variants() -> None:
    """More clean runs give more minutes as written; more variants more to the rhythms, up to two thirds of those."""
    few, many = (recipe(40, _box(120, clean), week(), variants=2) for clean in (3, 20))
    assert few["written"] < many["written"]
    one, six = (recipe(40, _box(120, 3), week(), variants=count) for count in (1, 6))
    assert one["rhythms"] < six["rhythms"] < six["written"]
    by_length = [recipe(400, _box(120, 10), week(), BoxMusic(Fraction(length), 2)) for length in (1, 200)]
    assert (
        by_length[0]["slow"] < by_length[1]["slow"]
    )  # in a long box the slow tempo weighs more than the breath


@settings(deadline=None)
@given(
    st.integers(0, 2000),
    st.lists(st.tuples(st.integers(1, 50), st.integers(0, 300), st.integers(0, 9)), min_size=1, max_size=8),
)
def test_none_gets_more_than_its_most_while_another_has_room(
    total: int, items: list[tuple[int, int, int]]
) -> None:
    weights, most, rest = (list(column) for column in zip(*items, strict=True))
    rest[0] += 1
    parts = apportion_within(total, weights, most, rest)
    assert sum(parts) == total
    if total <= sum(most):
        assert all(part <= limit for part, limit in zip(parts, most, strict=True))
    else:
        over = [part - limit for part, limit in zip(parts, most, strict=True)]
        assert min(over) >= 0
        assert over == apportion(total - sum(most), rest)


def test_what_is_full_leaves_its_minutes_to_the_others_by_weight() -> None:
    assert apportion_within(30, [1, 1, 1], [4, 30, 30], [1, 1, 1]) == [4, 13, 13]
    assert apportion_within(30, [3, 2, 1], [10, 30, 30], [1, 1, 1]) == [10, 13, 7]
    assert apportion_within(30, [1, 1], [10, 10], [0, 1]) == [10, 20]
