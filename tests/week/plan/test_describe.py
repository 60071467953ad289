import tomllib
from typing import get_args

import pytest

from excerpts.week import box_variants
from excerpts.week.plan import plan_lines, plan_week
from excerpts.week.plan.model import RuleName
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.model import WeekFile
from excerpts.words import Words
from tests.week.weeks import FULL, HEAD
from tests.week.weeks import week as small_week


def _full() -> WeekFile:
    return WeekFile.model_validate(tomllib.loads(FULL))


def test_a_plan_is_said_in_the_players_words() -> None:
    week = _full()
    lines = list(plan_lines(plan_week(week), week, Words("uk")))
    assert lines[0] == "Mon 2026-11-30: 30 min"
    assert "  Warm-up, 2 min: Open strings, whole bows, eyes shut" in lines
    assert "  Passages, 9 min: box 1, Gavotte in D, bars 12–16 (in depth)" in lines
    assert any(line.startswith("  Technique, ") and "Study No. 3, bars 1–8" in line for line in lines)
    assert any(line.endswith(": drill for box 1") for line in lines)
    assert any("box 2, Evening Song, p. 14, bars 12–16" in line for line in lines)
    assert "Thu 2026-12-03: 45 min, 5 of them rest" in lines
    assert "Fri 2026-12-04: day off" in lines
    us = list(plan_lines(plan_week(week), week, Words("us")))
    assert "  Passages, 9 min: box 1, Gavotte in D, measures 12–16 (in depth)" in us


def test_warmups_are_named() -> None:
    text = HEAD + '[[warmup]]\nkey = "F# minor"\n[[warmup]]\nkey = "Bb"\npattern = "arpeggio"\n'
    week = WeekFile.model_validate(tomllib.loads(text))
    lines = list(plan_lines(plan_week(week), week, Words("uk")))
    assert lines[1:4] == [
        "  Warm-up, 1 min: tuning",
        "  Warm-up, 15 min: F-sharp melodic minor scale",
        "  Warm-up, 14 min: B-flat major arpeggio",
    ]


@pytest.mark.parametrize("column", ["uk", "us"])
def test_every_fault_and_rule_has_its_words(column: str) -> None:
    words = Words("uk" if column == "uk" else "us")
    for fault in get_args(FaultName):
        assert words(f"fault.{fault}")
    for rule in get_args(RuleName):
        assert "x, y" in words(f"plan.relaxed.{rule}", items="x, y")


@pytest.mark.parametrize(
    ("why", "level", "expected"),
    [
        ('["uneven"]', "middle", ("long-short", "short-long", "long-short-short-short")),
        ('["coordination"]', "upper", ("separate", "repeat:2", "double-dotted", "burst:4")),
        ('["uneven", "coordination"]', "upper", ("long-short", "separate", "short-long", "repeat:2")),
        ('["uneven", "coordination"]', "first", ("long-short", "separate")),
        ("[]", "middle", ("separate", "long-short", "short-long")),
    ],
)
def test_variants_by_fault(why: str, level: str, expected: tuple[str, ...]) -> None:
    text = HEAD + f'[[box]]\nid = 1\nabc = "C"\nwhy = {why}\n'
    box = WeekFile.model_validate(tomllib.loads(text)).boxes[0]
    assert box_variants(box, level) == expected  # type: ignore[arg-type]


def test_the_teachers_own_list_goes_before_advice() -> None:
    week = _full()
    assert box_variants(week.boxes[0], "first") == ("separate", "long-short", "separate+short-long")


def test_every_fault_has_variants() -> None:
    for fault in get_args(FaultName):
        text = HEAD + f'[[box]]\nid = 1\nabc = "C"\nwhy = "{fault}"\n'
        assert box_variants(WeekFile.model_validate(tomllib.loads(text)).boxes[0], "upper")


def test_a_week_without_minutes_says_so() -> None:
    said = "No day of this week has practice minutes, so nothing is planned."
    for minutes, there in (("0", True), ("{every = 0}", True), ("{every = 0, mon = 5}", False)):
        made = small_week(minutes=minutes)
        assert (said in list(plan_lines(plan_week(made), made, Words("uk")))) is there


def test_one_of_the_variants_is_named_in_the_gender_that_german_asks_for() -> None:
    words = Words("de")
    one = words("plan.tight.numbers").split()[0]
    assert words("plan.tight.variants", n=one) == "eine der Varianten weglassen"
