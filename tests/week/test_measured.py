"""What is measured in the scores of a week: the few most useful bars of its studies. Default tier."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.week import load_week
from excerpts.week.measured import week_music
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
