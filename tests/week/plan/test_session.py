"""One day's session in numbers: the last tune, the run-through's room, the box of yesterday, shares at their edges."""

from fractions import Fraction
from functools import partial

import pytest

from excerpts.week import BoxMusic, WeekMusic
from excerpts.week.plan import PlanDay, plan_week
from excerpts.weekfile.model import WeekFile
from tests.week.weeks import week

bare = partial(week, warmups=0, technique=0)


def _day(made: WeekFile, music: WeekMusic | None = None, day: int = 0) -> list[tuple[str, int]]:
    return _outline(plan_week(made, music).days[day])


def _outline(day: PlanDay) -> list[tuple[str, int]]:
    return [(item.kind or item.box or item.piece or item.section, item.minutes) for item in day.items]


@pytest.mark.parametrize(
    ("minutes", "boxes", "wanted", "piece", "tune"),
    [
        (6, 0, 2, 6, 0),  # six minutes of playing are too few
        (7, 0, 2, 5, 2),
        (8, 1, 2, 2, 0),  # of seven minutes the pieces have two, which is too few
        (9, 1, 2, 2, 1),  # of three one
        (12, 1, 2, 3, 1),  # of four one
        (15, 1, 2, 3, 2),  # of five the two that are wanted
        (13, 0, 6, 9, 3),  # twelve are less than twice six and one: a quarter
        (14, 0, 6, 7, 6),
        (12, 0, 7, 9, 2),  # a quarter of eleven
    ],
)
def test_a_last_tune_leaves_the_pieces_more_than_half(
    minutes: int, boxes: int, wanted: int, piece: int, tune: int
) -> None:
    """By hand: pieces alone have all minutes after tuning, beside a box a third of them below twenty."""
    more = f"[plan]\nlast_tune = {wanted}\n"
    made = bare(minutes=f"{{mon = {minutes}}}", boxes=boxes, pieces=1, more=more)
    told = {relaxed.rule for relaxed in plan_week(made).relaxed}
    items = dict(_day(made))
    assert (items["p0"], items.get("last-tune", 0)) == (piece, tune)
    assert ("last-tune" in told) == (tune == 0)


def test_a_last_tune_comes_where_pieces_have_no_share() -> None:
    """Of nineteen minutes a quarter is four, of that a quarter one; of thirty-four eight, which bears two."""
    shares = "[plan]\nshares = {warm-up = 0, technique = 0, passages = 1, repertoire = 0}\n"
    for minutes, items in ((20, [1, 18, 1]), (22, [1, 19, 2]), (40, [1, 32, 2])):
        made = bare(minutes=str(minutes), boxes=1, pieces=1, more=shares)
        assert [part for _, part in _day(made)] == items


def test_a_box_has_a_minute_however_small_its_share() -> None:
    shares = (
        "[plan]\nlast_tune = 0\nshares = {{warm-up = 100, technique = 0, passages = {}, repertoire = 100}}\n"
    )
    made = week(minutes="30", boxes=1, pieces=1, technique=0, more=shares.format(1))
    assert _day(made) == [("tuning", 1), ("warm-up", 14), ("b0", 1), ("p0", 14)]
    without = week(minutes="30", boxes=1, pieces=1, technique=0, more=shares.format(0))
    assert "b0" not in dict(_day(without))
    assert "box-in-depth" in {relaxed.rule for relaxed in plan_week(without).relaxed}


DAILY = "".join(f'[[piece]]\nid = "d{n}"\ntitle = "D"\nweight = 7\n' for n in range(3))
CONCERT = '[[piece]]\nid = "c{0}"\ntitle = "C"\ndate = 2026-12-12\n'


@pytest.mark.parametrize(
    ("minutes", "boxes", "runs"),
    [
        (60, 1, [3, 3, 3, 3]),  # pieces of no known length take three minutes
        (12, 1, [2, 2, 2, 1]),  # a box keeps four
        (12, 0, [3, 3, 2, 2]),  # where there is none, one minute is kept
        (60, 0, [3, 3, 3, 3]),
    ],
)
def test_a_run_through_leaves_room(minutes: int, boxes: int, runs: list[int]) -> None:
    made = bare(
        minutes=str(minutes), boxes=boxes, pieces=1, more="".join(CONCERT.format(n) for n in range(4))
    )
    plan = plan_week(made)
    day = plan.days[6]
    assert [item.minutes for item in day.items if item.kind == "run-through"] == runs
    told = {relaxed.rule for relaxed in plan.relaxed}
    assert ("run-through-short" in told) == (sum(runs) < 12)


def test_starts_from_memory_take_two_minutes_of_a_day_that_has_them() -> None:
    """Not on a day of under twenty minutes, nor where the run-through leaves less than two."""
    music = WeekMusic(marks={"c0": ("A", "B", "C")}, seconds={"c0": Fraction(60)})
    for minutes, memory in ((60, [2]), (21, [2]), (20, []), (19, [])):
        made = bare(minutes=str(minutes), boxes=1, pieces=1, more=CONCERT.format(0))
        day = plan_week(made, music).days[5]
        assert [item.minutes for item in day.items if item.kind == "memory"] == memory
        assert day.run_through is not None
        assert bool(day.run_through.starts) == bool(memory)
    for seconds, memory in ((60 * 24, []), (60 * 23, [2])):  # of 29 the box keeps four
        long = WeekMusic(marks=music.marks, seconds={"c0": Fraction(seconds)})
        made = bare(minutes="30", boxes=1, pieces=1, more=CONCERT.format(0))
        day = plan_week(made, long).days[5]
        assert [item.minutes for item in day.items if item.kind == "memory"] == memory


def test_the_box_of_yesterday_takes_its_minutes_from_the_longest_of_today() -> None:
    """Box 1 asks for ten minutes at most, so that of the two boxes of a day the other is the longer."""
    music = WeekMusic(boxes={"b2": BoxMusic(Fraction(1), 1)})
    made = bare(minutes="90", boxes=4, pieces=2, more="[plan]\nin_depth = 2\n")
    tuesday = _day(made, music, 1)
    boxes = {name: minutes for name, minutes in tuesday if name.startswith("b")}
    monday = {name: minutes for name, minutes in _day(made, music) if name.startswith("b")}
    assert list(boxes) == ["b2", "b3", "b0"]
    assert (boxes["b2"], boxes["b0"]) == (10, 2)
    assert boxes["b3"] == sum(monday.values()) - 12


def test_only_in_the_first_year_pieces_in_review_have_the_largest_share() -> None:
    review = '[[piece]]\nid = "r"\ntitle = "R"\nstatus = "review"\n'
    shares = {}
    for level in ("first", "lower"):
        day = plan_week(week(level=level, minutes="25", boxes=1, pieces=1, more=review)).days[0]
        shares[level] = sum(item.minutes for item in day.section("repertoire"))
    assert shares == {"first": 10, "lower": 7}  # 40 and 30 per cent of 25


def test_two_pieces_share_a_day_of_the_upper_level_that_has_ten_minutes_for_them() -> None:
    for minutes, pieces in ((13, [5, 5]), (12, [9]), (17, [7, 7]), (18, [5, 5, 5])):
        made = bare(level="upper", minutes=str(minutes), boxes=0, pieces=3, more=DAILY)
        day = plan_week(made).days[0]
        assert [item.minutes for item in day.section("repertoire") if item.kind is None] == pieces


def test_the_box_of_yesterday_stays_away_where_it_is_not_wanted() -> None:
    for level, more, boxes in (
        ("middle", "", ["b1", "b0"]),
        ("middle", "[plan]\nagain = false\n", ["b1"]),
        ("first", "", ["b1"]),
    ):
        day = plan_week(bare(level=level, minutes="30", boxes=2, pieces=1, more=more)).days[1]
        assert [item.box for item in day.section("passages")] == boxes
        assert [item.turns for item in day.section("passages")] == [1] * len(boxes)


def test_tuning_has_no_more_than_half_of_a_day() -> None:
    for minutes, tuning in ((11, []), (12, [("tuning", 6)])):
        made = bare(minutes=str(minutes), boxes=1, pieces=1, more="[plan]\ntuning = 6\nlast_tune = 0\n")
        assert _day(made)[: len(tuning)] == tuning
        assert ("tuning" in dict(_day(made))) == bool(tuning)


def test_a_piece_with_minutes_of_its_own_may_be_short_at_any_level() -> None:
    own = DAILY.replace("weight = 7", "weight = 7\nminutes = 3", 1)
    day = plan_week(bare(level="upper", minutes="22", boxes=0, pieces=0, more=own)).days[0]
    pieces = [(item.piece, item.minutes) for item in day.section("repertoire") if item.kind is None]
    assert pieces == [("d0", 3), ("d1", 8), ("d2", 8)]
