"""Before a performance: which days begin with a run-through, in which order, and what the light day leaves out."""

import tomllib
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from excerpts.week import WeekMusic, week_faults
from excerpts.week.plan import Plan, RunThrough, plan_lines, plan_week
from excerpts.week.plan.run_throughs import began_with
from excerpts.weekfile.model import WeekFile
from excerpts.words import Words
from tests.heads import head
from tests.week.weeks import week

CONCERT = "2026-12-06"
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def _week(
    *, pieces: int = 4, minutes: str = "60", day: str = CONCERT, plan: str = "", level: str = "middle"
) -> WeekFile:
    more = "".join(
        f'[[piece]]\nid = "c{n}"\ntitle = "Concert {n}"\nstatus = "performance"\ndate = {day}\n'
        for n in range(pieces)
    )
    more += '[[box]]\nid = "run"\npiece = "c0"\nplace = "p. 1"\n'
    return week(boxes=1, pieces=2, minutes=minutes, level=level, more=f"{more}[plan]\n{plan}")


def _runs(plan: Plan) -> dict[date, RunThrough]:
    return {day.date: day.run_through for day in plan.days if day.run_through}


def _cold(plan: Plan) -> list[RunThrough]:
    return [run for run in _runs(plan).values() if not run.light]


def test_the_last_seven_days_begin_with_a_run_through() -> None:
    """Cold, straight after tuning: drawn on most days, the programme once as a mock, a light last day."""
    plan = plan_week(_week(minutes="{every = 60, sun = 0}"))
    assert [run.kind for run in _runs(plan).values()] == ["drawn"] * 4 + ["programme", "light"]
    assert [run.mock for run in _cold(plan)] == [False] * 4 + [True]
    assert _cold(plan)[-1].pieces == ("c0", "c1", "c2", "c3")
    for day in plan.days[:5]:
        kinds = [item.kind for item in day.items[:5]]
        assert kinds == ["tuning", "run-through", "run-through", "run-through", "run-through"]
        assert day.run_through is not None
        assert tuple(item.piece for item in day.items[1:5]) == day.run_through.pieces
        assert day.in_depth
    after = next(told.items for told in plan.relaxed if told.rule == "piece-after-box")
    assert after == tuple(
        day.date.isoformat() for day in plan.days[:5] if any(item.box == "run" for item in day.in_depth)
    )


def _told(plan: Plan, rule: str) -> tuple[str, ...]:
    return next((told.items for told in plan.relaxed if told.rule == rule), ())


def _what(plan: Plan, day: int) -> list[tuple[str, int]]:
    return [(item.kind or item.section, item.minutes) for item in plan.days[day].items]


def test_the_last_day_has_openings_and_little_else() -> None:
    """The warm-up of a usual day, 15 per cent of 50 minutes with the tuning in it; the other minutes stay empty."""
    plan = plan_week(_week(minutes="{every = 60, sun = 0}"))
    saturday = plan.days[5]
    assert _what(plan, 5) == [("tuning", 1), *[("opening", 1)] * 4, ("warm-up", 7), ("last-tune", 2)]
    assert [item.piece for item in saturday.items if item.kind == "opening"] == ["c0", "c1", "c2", "c3"]
    assert (saturday.minutes, saturday.break_minutes) == (14, 0)
    assert _told(plan, "light-last-day") == ("2026-12-05",)
    assert plan.to_json()["days"][5]["run_through"]["kind"] == "light"


def test_the_day_of_the_performance_has_a_warm_up_only() -> None:
    plan = plan_week(_week(minutes="60"))
    assert _what(plan, 6) == [("tuning", 1), ("warm-up", 7)]
    assert plan.days[6].minutes == 8
    assert _told(plan, "light-last-day") == ("2026-12-05", "2026-12-06")
    assert "  The day of the performance: a warm-up, and no more." in list(
        plan_lines(plan, _week(minutes="60"), Words("uk"))
    )
    assert _told(plan, "daily-piece") == ()  # a concert piece has no day on that day


def test_a_light_day_has_no_more_minutes_than_the_file_gives_it() -> None:
    """Nor more than are played without a break; where the openings do not fit, that is told."""
    plan = plan_week(_week(minutes="{every = 60, 2026-12-05 = 6, sun = 0}"))
    assert _what(plan, 5) == [*[("opening", 1)] * 4, ("warm-up", 2)]
    short = plan_week(_week(minutes="{every = 20, sat = 16}"))
    assert _what(short, 5) == [("tuning", 1), *[("opening", 1)] * 4, ("warm-up", 5), ("last-tune", 2)]
    assert _what(short, 6) == [("tuning", 1), ("warm-up", 5)]
    many = plan_week(_week(pieces=40, minutes="{every = 120, sun = 0}"))
    assert many.days[5].minutes == 30
    assert "2026-12-05" in _told(many, "run-through-short")


def test_a_light_day_without_warm_ups_or_openings() -> None:
    bare = _week(minutes="60", plan="tuning = 0\nlast_tune = 0\n").model_copy(update={"warmups": ()})
    plan = plan_week(bare)
    assert _what(plan, 5) == [("opening", 1)] * 4
    assert plan.days[6].items == ()
    assert _told(plan, "light-last-day") == ("2026-12-05",)


def test_what_was_run_through_makes_room_for_the_other_pieces() -> None:
    plan = plan_week(_week(pieces=2, minutes="60"))
    for day in plan.days[:5]:
        again = [item.piece for item in day.section("repertoire") if item.kind is None]
        assert again
        assert not {"c0", "c1"} & set(again)
    alone = week(
        boxes=0, pieces=0, minutes="60", more=f'[[piece]]\nid = "c"\ntitle = "C"\ndate = {CONCERT}\n'
    )
    kinds = [item.kind for item in plan_week(alone).days[0].section("repertoire")]
    assert kinds == ["run-through", None, "last-tune"]  # there is nothing else to play


def test_a_week_may_do_without() -> None:
    plan = plan_week(_week(plan="cold_days = 0\n"))
    assert _runs(plan) == {}
    assert plan.seed is None
    plan = plan_week(_week(minutes="{every = 60, sun = 0}", plan="light = false\ncold_days = 2\n"))
    assert list(_runs(plan)) == [date(2026, 12, 4), date(2026, 12, 5)]
    assert plan.days[5].in_depth


def test_a_performance_after_the_week_has_no_light_day_yet() -> None:
    """Nor a mock performance: that is on the day before the light one."""
    file = _week(day="2026-12-09")
    plan = plan_week(file)
    assert list(_runs(plan)) == [date(2026, 12, day) for day in range(2, 7)]
    assert {run.kind for run in _runs(plan).values()} == {"drawn"}
    after = _runs(plan_week(_days(file, 7, 13)))
    assert [(day.day, run.kind) for day, run in after.items()] == [
        (7, "programme"),
        (8, "light"),
        (9, "day"),
    ]


def _days(file: WeekFile, first: int, last: int) -> WeekFile:
    """The same week with other days, counted from its first."""
    start = file.week.start
    days = {"start": start + timedelta(first), "until": start + timedelta(last)}
    return file.model_copy(update={"week": file.week.model_copy(update=days)})


def _mocks(file: WeekFile) -> list[date]:
    return [day for day, run in _runs(plan_week(file)).items() if run.mock]


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.sampled_from([0, 60]), min_size=7, max_size=7),
    st.integers(5, 19),
    st.integers(0, 14),
    st.booleans(),
    st.integers(0, 18),
)
def test_a_lesson_in_between_neither_doubles_nor_moves_the_mock_performance(
    minutes: list[int], after: int, window: int, light: bool, lesson: int
) -> None:
    """Of a long cold period each week would have had one: a single one is wanted, two days before the performance."""
    days = ", ".join(f"{day} = {n}" for day, n in zip(WEEKDAYS, minutes, strict=True))
    plan = f"cold_days = {window}\nlight = {str(light).lower()}\n"
    file = _week(minutes=f"{{{days}}}", day=str(date(2026, 11, 30) + timedelta(after)), plan=plan)
    between = range(lesson + 1, after)
    assume(
        lesson + 1 >= after or any(minutes[day % 7] for day in between)
    )  # else the light day is not known yet
    mocks = _mocks(_days(file, 0, lesson)) + _mocks(_days(file, lesson + 1, 20))
    assert mocks == _mocks(_days(file, 0, 20))
    assert len(mocks) <= 1
    whole = [day for day in range(after - window, after) if minutes[day % 7]]
    whole = whole[:-1] if light else whole
    due = len(whole) >= 3 and whole[-1] >= 0
    assert mocks == ([date(2026, 11, 30) + timedelta(whole[-1])] if due else [])


def test_a_programme_has_its_own_order() -> None:
    plan = plan_week(_week(plan='programme = ["c2", "c0"]\n'))
    mock = next(run for run in _cold(plan) if run.mock)
    assert mock.pieces == ("c2", "c0", "c1", "c3")


def test_the_seed_is_printed_and_can_be_given() -> None:
    """Another seed draws other orders; the same gives the same."""
    usual = plan_week(_week())
    assert usual.seed is not None
    assert f"Order drawn by lot (seed {usual.seed})" in list(plan_lines(usual, _week(), Words("uk")))
    given = [plan_week(_week(plan=f"seed = {seed}\n")) for seed in (1, 2, 1)]
    assert given[0].seed == "1"
    assert _runs(given[0]) == _runs(given[2])
    assert _runs(given[0]) != _runs(given[1])


@settings(max_examples=100, deadline=None)
@given(
    st.integers(2, 7),
    st.integers(0, 14),
    st.lists(st.sampled_from([0, 60, 90]), min_size=7, max_size=7),
    st.integers(0, 9),
)
def test_first_pieces_differ_and_are_even(pieces: int, window: int, minutes: list[int], after: int) -> None:
    """On consecutive days with a run-through the first pieces differ; each is first equally often, to one."""
    days = ", ".join(
        f"{day} = {n}" for day, n in zip("mon tue wed thu fri sat sun".split(), minutes, strict=True)
    )
    file = _week(
        pieces=pieces, minutes=f"{{{days}}}", day=f"2026-12-{6 + after:02d}", plan=f"cold_days = {window}\n"
    )
    cold = _cold(plan_week(file))
    firsts = [run.pieces[0] for run in cold]
    assert all(one != other for one, other in pairwise(firsts))
    drawn = [run.pieces[0] for run in cold if run.kind == "drawn"]
    for row in (firsts, drawn):
        counts = [row.count(f"c{n}") for n in range(pieces)]
        assert max(counts) - min(counts) <= 1
    assert all(sorted(run.pieces) == [f"c{n}" for n in range(pieces)] for run in cold)
    assert sum(run.mock for run in cold) == len(cold) - len(drawn) <= 1


def test_starts_from_memory_come_from_drawn_marks() -> None:
    """Two places on each drawn day; no mark comes twice before all have come."""
    music = WeekMusic(marks={"c0": ("A", "B"), "c2": ("A", "B", "C")})
    plan = plan_week(_week(), music)
    starts = [(start.piece, start.mark) for run in _cold(plan) for start in run.starts]
    assert len(starts) == 2 * sum(run.kind == "drawn" for run in _cold(plan))
    assert len(set(starts[:5])) == 5 or len(starts) < 5
    assert set(starts) <= {("c0", "A"), ("c0", "B"), ("c2", "A"), ("c2", "B"), ("c2", "C")}
    assert any("From memory, start at: Concert" in line for line in plan_lines(plan, _week(), Words("uk")))
    without = plan_week(_week(plan="memory = false\n"), music)
    assert not any(run.starts for run in _cold(without))


def test_a_run_through_takes_as_long_as_the_pieces() -> None:
    music = WeekMusic(seconds={"c0": Fraction(301), "c1": Fraction(60)})
    monday = plan_week(_week(pieces=2), music).days[0]
    lengths = {item.piece: item.minutes for item in monday.items if item.kind == "run-through"}
    assert lengths == {"c0": 6, "c1": 1}


def test_a_short_day_leaves_the_box_its_minutes_and_says_so() -> None:
    music = WeekMusic(seconds={f"c{n}": Fraction(300) for n in range(4)})
    plan = plan_week(_week(minutes="15"), music)
    assert all(day.in_depth for day in plan.days[:5])
    assert next(told.items for told in plan.relaxed if told.rule == "run-through-short")


def test_two_performances_in_one_week() -> None:
    """A day belongs to the nearer one; the light days are told apart. The week before had run-throughs of the first."""
    more = '[[piece]]\nid = "solo"\ntitle = "Solo"\ndate = 2026-12-02\n'
    text = '[[piece]]\nid = "duo"\ntitle = "Duo"\ndate = 2026-12-06\n'
    runs = _runs(plan_week(week(more=more + text)))
    assert [run.pieces[0] for run in runs.values()] == ["solo"] * 3 + ["duo"] * 4
    assert [run.kind for run in runs.values()] == [
        "programme", "light", "day", "drawn", "drawn", "light", "day",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        ('programme = ["x"]', 'There is no piece with the id "x"'),
        ('programme = ["c0", "c0"]', "names a piece twice"),
        ('programme = ["p0"]', 'The piece "p0" has no date'),
        ("cold_days = 15", "the most is 14"),
        ('order = ["warm-up", "repertoire"]', "names each of the four once"),
        ("break_minutes = 20", "at most half as long"),
        ("shares = {warm-up = 0, technique = 0, passages = 0, repertoire = 0}", "All four shares are 0"),
        ('slip = "two"', '"two" is not known here'),
        ("tunning = 1", 'Did you mean "tuning"?'),
        ("turns = -1", "the least is 0"),
    ],
)
def test_bad_plan_tables_are_told(tmp_path: Path, plan: str, message: str) -> None:
    path = tmp_path / "week.toml"
    path.write_text(
        'format = 1\n[player]\nname = "A"\ninstrument = "cello"\nlevel = "upper"\n'
        "[week]\nstart = 2026-11-30\nminutes = 30\n"
        '[[piece]]\nid = "c0"\ntitle = "C"\ndate = 2026-12-06\n[[piece]]\nid = "p0"\ntitle = "P"\n'
        f"[plan]\n{plan}\n"
    )
    (fault,) = week_faults(path)
    assert message in fault.message
    assert fault.line is not None
    assert fault.line >= 15


def test_clean_runs_of_a_week() -> None:
    """A box's own number goes before the week's, the week's before the age's."""
    text = '[[box]]\nid = "x"\nabc = "C"\nclean = 2\n[plan]\nclean = 6\nslip = "all"\n'
    file = week(boxes=1, more=text)
    assert [file.clean_runs(box) for box in file.boxes] == [6, 2]
    assert file.plan.slip == "all"
    assert WeekFile.model_validate(tomllib.loads(_HEAD)).plan.slip == "one"


_HEAD = head("upper", name="A", instrument="cello")


def test_over_a_lesson_no_piece_is_first_twice_running() -> None:
    """What the week before began with counts: first pieces stay different and even to one."""
    start = date(2026, 12, 7)
    for seed in range(30):
        before = _week(minutes="60", day="2026-12-10", plan=f"cold_days = 7\nseed = {seed}\n")
        began = began_with(before, start)
        firsts = [run.pieces[0] for run in _cold(plan_week(before))]
        assert began == tuple(firsts)
        days = before.week.model_copy(update={"start": start, "began": began})
        after = before.model_copy(update={"week": days})
        whole = [*firsts, *(run.pieces[0] for run in _cold(plan_week(after)))]
        assert len(whole) == 6
        assert all(one != other for one, other in pairwise(whole))
        counts = [whole.count(f"c{n}") for n in range(4)]
        assert max(counts) - min(counts) <= 1


def test_after_the_performance_nothing_is_remembered() -> None:
    assert began_with(_week(minutes="60", day="2026-12-05"), date(2026, 12, 7)) == ()
    assert began_with(_week(minutes="60", day="2026-12-25"), date(2026, 12, 7)) == ()


def test_a_single_piece_has_no_drawn_order() -> None:
    one, two = (list(plan_lines(plan_week(_week(pieces=n)), _week(pieces=n), Words("uk"))) for n in (1, 2))
    assert "  First thing, cold, without stopping: Concert 0" in one
    assert not any("order drawn" in line for line in one)
    assert any("order drawn" in line for line in two)
