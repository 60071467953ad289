"""What is measured in the scores of a week: the few most useful bars of its studies. Default tier."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.week import load_week
from excerpts.week.measured import week_music
from excerpts.week.orders.check import check_week
from excerpts.week.plan import plan_week
from tests.music import bars_of
from tests.week.weeks import HEAD, write

EVEN = "A4:1 B4:1 A4:1 B4:1"
CROSSED = "D4:1 A4:1 D4:1 A4:1"


@pytest.mark.parametrize(
    ("piece", "technique", "few"),
    [
        ("", 'bars = "1-5"', {0: "3-4"}),
        ("", 'bars = "4-5"', {}),  # short already
        ("", 'bars = "1-5"\nshort = "1"', {}),  # the teacher's own
        ("pupil_bars = 10\n", 'bars = "11-15"', {0: "13-14"}),
    ],
)
def test_the_few_most_useful_bars_of_a_study(
    tmp_path: Path, piece: str, technique: str, few: dict[int, str]
) -> None:
    (tmp_path / "weir.musicxml").write_bytes(bars_of(EVEN, EVEN, CROSSED, CROSSED, EVEN))
    study = f'[[piece]]\nid = "s"\ntitle = "Study"\nscore = "weir.musicxml"\n{piece}'
    week = load_week(write(tmp_path, f'{HEAD}{study}[[technique]]\npiece = "s"\n{technique}\n'))
    assert week_music(week).few == few


STEPS = "A4:1 B4:1 A4:1 B4:1"
LEAPS = "A4:1 F5:1 A4:1 F5:1"


@pytest.mark.parametrize(
    ("bars", "more", "planned"),
    [
        ("1", "", False),
        ("2", "", True),
        ("1", 'variants = ["separate"]\n', True),  # ways to practise that the file names
    ],
)
def test_a_drill_that_its_box_cannot_give_is_not_planned(
    tmp_path: Path, bars: str, more: str, planned: bool
) -> None:
    (tmp_path / "weir.musicxml").write_bytes(bars_of(STEPS, LEAPS))
    box = (
        '[[piece]]\nid = "s"\ntitle = "Study"\nscore = "weir.musicxml"\n'
        f'[[box]]\nid = "b"\npiece = "s"\nbars = "{bars}"\n'
    )
    path = write(tmp_path, f'{HEAD}{box}[[technique]]\ndrill = "b"\n{more}[[technique]]\ntext = "Trills"\n')
    week = load_week(path)
    music = week_music(week)
    assert music.no_drills == (set() if planned else {0})
    plan = plan_week(week, music)
    technique = {item.technique for day in plan.days for item in day.section("technique")}
    assert technique == ({0, 1} if planned else {1})
    assert "technique-without-day" not in {one.rule for one in plan.relaxed}
    told = [fault.message for fault in check_week(path).told]
    assert [message.startswith('The box "b" gives no drill') for message in told] == (
        [] if planned else [True]
    )
