"""Retired and parked boxes: kept in the week file, checked like the others, due after 1, 2 and 4 weeks."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from excerpts.week import load_week, week_faults
from excerpts.weekfile.items import CHECK_WEEKS
from tests.week.weeks import HEAD, write

KEPT = (
    HEAD
    + """[[piece]]
id = "song"
title = "Song"
[[retired]]
id = "run"
piece = "song"
place = "bar 4"
retired = 2026-11-16
checks = 1
[[parked]]
id = "leap"
piece = "song"
place = "bar 9"
since = 2026-11-02
[[technique]]
text = "Check of the run"
check = "run"
"""
)


def test_checks_are_due_one_two_and_four_weeks_after_retiring(tmp_path: Path) -> None:
    (box,) = load_week(write(tmp_path, KEPT)).retired
    assert box.due == date(2026, 11, 30)
    dues = [box.model_copy(update={"checks": n}).due for n in range(len(CHECK_WEEKS) + 1)]
    assert dues == [box.retired + timedelta(days=7 * n) for n in (1, 2, 4)] + [None]


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ('id = "leap"', 'id = "run"', 19, 'The id "run" is there already, in [[retired]].'),
        ('check = "run"', 'check = "rum"', 25, 'There is no [[retired]] box with the id "rum".'),
        ("checks = 1", "checks = 4", 17, "4 is too much: the most is 3."),
        ("retired = 2026-11-16\n", "", 12, 'The key "retired" is missing.'),
        ("checks = 1", "check = 1", 17, 'There is no key "check" here. Did you mean "checks"?'),
        ('text = "Check of the run"', 'piece = "song"\nbars = 4', 23, "described in words"),
    ],
)
def test_faults_of_boxes_that_are_not_in_work(
    tmp_path: Path, old: str, new: str, line: int, told: str
) -> None:
    assert KEPT.count(old) == 1
    faults = week_faults(write(tmp_path, KEPT.replace(old, new)))
    assert [fault.line for fault in faults if told in fault.message] == [line]


def test_no_list_is_told_and_no_trace(tmp_path: Path) -> None:
    (fault,) = week_faults(
        write(tmp_path, HEAD.replace("[player]", "retired = 1\n[player]") + '[[warmup]]\nkey = "D"\n')
    )
    assert fault.line == 2


def test_a_drill_of_the_set_goes_with_its_box(tmp_path: Path) -> None:
    """A player who has retired a box of a shared set is not told that its drill has no box."""
    shared = '[[box]]\nid = "run"\npiece = "song"\nplace = "bar 4"\n[[technique]]\ndrill = "run"\n'
    (tmp_path / "set.toml").write_text(shared)
    text = KEPT.replace("format = 1\n", 'format = 1\ninclude = "set.toml"\n', 1)
    week = load_week(write(tmp_path, text))
    assert [item.drill for item in week.technique] == [None]
    assert week.boxes == ()
