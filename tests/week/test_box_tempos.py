"""The tempos of a box over its week: how wide the steps are, in which beat, and how far they lead."""

from fractions import Fraction
from itertools import pairwise
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import LEVELS
from excerpts.week.box_tempos import box_tempos, meant_tempos, tempo_of_day
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile
from tests.week.weeks import week

UNITS = [Fraction(1, 2), Fraction(1), Fraction(3, 2), Fraction(2), Fraction(3)]

CAREFUL = st.tuples(st.just("first"), st.none() | st.integers(4, 80)) | st.tuples(
    st.sampled_from(LEVELS), st.integers(4, 11)
)


def _week(level: str = "middle", age: int | None = None, plan: str = "") -> WeekFile:
    made = week(level=level, more=f"[plan]\n{plan}\n")
    return made.model_copy(update={"player": made.player.model_copy(update={"age": age})})


def _box(target: int | Fraction, unit: Fraction = Fraction(1), start: Tempo | None = None) -> BoxItem:
    goal = {"target": Tempo(Fraction(target), unit), "start": start}
    return BoxItem(id="x", abc="C").model_copy(update=goal)


def _numbers(tempos: tuple[Tempo, ...]) -> list[str]:
    return [str(tempo.number) for tempo in tempos]


@st.composite
def boxes(draw: st.DrawFn) -> BoxItem:
    """A box with any goal, and perhaps any start below it, in any beat."""
    target = Tempo(Fraction(draw(st.integers(30, 300))), draw(st.sampled_from(UNITS)))
    unit = draw(st.sampled_from(UNITS))
    slowest, fastest = (
        ceil(max(10 * target.unit / unit, Fraction(20))),
        int(target.quarters_per_minute / unit),
    )
    if draw(st.booleans()) or slowest > fastest:
        return _box(target.number, target.unit)
    return _box(target.number, target.unit, Tempo(Fraction(draw(st.integers(slowest, fastest))), unit))


def _ratios(tempos: tuple[Tempo, ...]) -> list[Fraction]:
    return [b.quarters_per_minute / a.quarters_per_minute for a, b in pairwise(tempos)]


@settings(max_examples=120, deadline=None)
@given(boxes(), st.sampled_from(LEVELS[1:]), st.none() | st.integers(12, 80), st.integers(0, 7))
def test_no_step_is_too_near_or_more_than_a_fifth_above(
    box: BoxItem, level: str, age: int | None, days: int
) -> None:
    tempos = box_tempos(box, _week(level, age), days)
    assert 1 <= len(tempos) <= 6
    assert all(Fraction(103, 100) <= ratio <= Fraction(6, 5) for ratio in _ratios(tempos))
    assert box.target is not None
    goal = box.target.quarters_per_minute
    assert tempos[-1].quarters_per_minute <= goal
    if tempos[-1].quarters_per_minute < goal:  # then six of them were not enough
        assert len(tempos) == 6
        assert goal / tempos[0].quarters_per_minute > Fraction(6, 5) ** 4


@settings(max_examples=120, deadline=None)
@given(boxes(), CAREFUL, st.integers(0, 7), st.integers(0, 3))
def test_the_young_and_the_new_rise_by_a_tenth_in_one_beat(
    box: BoxItem, player: tuple[str, int | None], days: int, visits: int
) -> None:
    """Over the days too, those among them on which the box is only played again."""
    made = _week(*player)
    tempos = box_tempos(box, made, days)
    assert len({tempo.unit for tempo in tempos}) == 1
    assert all(Fraction(103, 100) <= ratio <= Fraction(11, 10) for ratio in _ratios(tempos))
    if not days:
        return
    by_circles = [tempo_of_day(day, days, tempos) for day in range(days)]
    rows = [meant_tempos(day, days + visits, len(tempos)) for day in range(days + visits)]
    highest = [max(tempo.number for tempo, meant in zip(tempos, row, strict=True) if meant) for row in rows]
    for numbers in ([tempo.number for tempo in by_circles], highest):
        assert all(one <= other <= one * Fraction(11, 10) for one, other in pairwise(numbers))


@settings(max_examples=100, deadline=None)
@given(boxes(), st.integers(2, 6))
def test_steps_of_the_teacher_s_own_number_lead_to_the_goal(box: BoxItem, steps: int) -> None:
    tempos = box_tempos(box, _week(plan=f"steps = {steps}"), 3)
    assert box.target is not None
    assert len(tempos) <= steps
    assert tempos[-1] == box.target
    assert all(ratio >= Fraction(103, 100) for ratio in _ratios(tempos))


def test_worked_steps() -> None:
    grown_up = _week()
    assert _numbers(box_tempos(_box(120), grown_up, 3)) == ["60", "72", "84", "100", "112", "120"]
    near = _box(85, start=Tempo(Fraction(76)))
    assert _numbers(box_tempos(near, grown_up, 3)) == ["76", "80", "85"]  # no 84
    assert _numbers(box_tempos(_box(85, start=Tempo(Fraction(84))), grown_up, 3)) == ["85"]
    far = _box(160, start=Tempo(Fraction(50)))
    assert _numbers(box_tempos(far, grown_up, 3)) == ["50", "60", "72", "84", "100", "120"]
    assert _numbers(box_tempos(far, _week(plan="steps = 3"), 3)) == ["50", "108", "160"]
    assert _numbers(box_tempos(far, _week(plan="steps = 1"), 3)) == ["160"]


@pytest.mark.parametrize(
    ("level", "age", "target", "days", "numbers"),
    [
        ("first", 7, 76, 3, ["40", "44", "48"]),  # in crotchets, not ♪ = 76
        ("first", 7, 88, 3, ["44", "48", "52"]),
        ("lower", 11, 60, 2, ["40", "44"]),
        ("first", 7, 91, 2, ["44", "48"]),  # half of it is not on the metronome
        ("first", 7, 1, 2, ["1"]),
        ("lower", 11, 45, 2, ["30", "32"]),  # below the metronome's 40, but in the beat of the goal
        ("first", 50, 76, 1, ["40"]),
        ("lower", 12, 76, 3, ["76", "44", "52", "60", "69", "76"]),  # ♪ = 76 to ♩ = 76
    ],
)
def test_who_rises_by_tenths(level: str, age: int, target: int, days: int, numbers: list[str]) -> None:
    assert _numbers(box_tempos(_box(target), _week(level, age), days)) == numbers


@pytest.mark.parametrize("level", ["first", "upper"])
def test_a_goal_in_words_has_no_tempos(level: str) -> None:
    assert box_tempos(BoxItem(id="x", abc="C"), _week(level), 3) == ()


def test_a_start_of_the_teacher_s_own_names_the_beat() -> None:
    box = _box(60, start=Tempo(Fraction(66), Fraction(1, 2)))
    tempos = box_tempos(box, _week("first", 7), 3)
    assert [(str(tempo.number), tempo.unit) for tempo in tempos] == [
        ("66", Fraction(1, 2)),
        ("72", Fraction(1, 2)),
        ("76", Fraction(1, 2)),
    ]


@given(st.integers(1, 30), st.integers(1, 8))
def test_days_lead_from_the_slowest_tempo_to_the_last(days: int, tempos: int) -> None:
    meant = [meant_tempos(place, days, tempos) for place in range(days)]
    steps = [[step for step, yes in enumerate(day) if yes] for day in meant]
    assert steps[0][0] == 0
    assert steps[-1][-1] == tempos - 1
    for before, after in zip(steps, steps[1:], strict=False):
        assert after[0] >= before[0]
        assert after[-1] >= before[-1]
        assert after[0] <= before[-1] + 1
    marks = tuple(Tempo(Fraction(40 + step)) for step in range(tempos))
    assert [tempo_of_day(day, days, marks).number for day in range(days)] == sorted(
        tempo_of_day(day, days, marks).number for day in range(days)
    )


@pytest.mark.parametrize(
    ("days", "tempos", "rows"),
    [
        (1, 4, ["1111"]),
        (2, 6, ["111000", "011111"]),
        (3, 6, ["111000", "011100", "001111"]),
        (3, 3, ["110", "110", "111"]),
        (5, 2, ["11", "11", "11", "11", "11"]),
        (0, 3, ["111"]),  # a box that is only played again
        (2, 1, ["1", "1"]),
    ],
)
def test_the_tempos_that_each_day_is_meant_for(days: int, tempos: int, rows: list[str]) -> None:
    meant = [meant_tempos(place, days, tempos) for place in range(max(days, 1))]
    assert ["".join("01"[yes] for yes in day) for day in meant] == rows


def test_one_tempo_a_day_goes_from_the_slowest_to_the_last() -> None:
    marks = tuple(Tempo(Fraction(number)) for number in (60, 72, 84, 100))
    assert [
        _numbers(tuple(tempo_of_day(day, days, marks) for day in range(days))) for days in (1, 2, 3, 4)
    ] == [
        ["60"],
        ["60", "100"],
        ["60", "84", "100"],
        ["60", "72", "84", "100"],
    ]
