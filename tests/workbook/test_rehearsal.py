"""What is printed before a performance: the mock sheet, and slips to cut out."""

from pathlib import Path

import pytest

from excerpts.week import Week, WeekMusic, load_week
from excerpts.week.plan import plan_week
from excerpts.words import Words
from excerpts.workbook.build import build_workbook
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.rehearsal import MockSheet, Rehearsal, Slip, rehearsal
from tests.heads import head
from tests.pdf_text import text_of

HEAD = head("upper", instrument="viola", age="{age}", minutes="60")
PIECES = """\
[[piece]]
id = "one"
title = "Slow Air"
date = 2026-12-07
[[piece]]
id = "two"
title = "Quick Air"
date = 2026-12-07
"""
MUSIC = WeekMusic(marks={"two": ("A", "B")})


def _week(folder: Path, *, age: int = 15, pieces: str = PIECES, plan: str = "") -> Week:
    path = folder / "week.toml"
    path.write_text(HEAD.format(age=age) + pieces + f"[plan]\n{plan}\n")
    return load_week(path)


def _rehearsal(week: Week, *, child: bool = False) -> Rehearsal:
    return rehearsal(week, plan_week(week, MUSIC), MUSIC, PageTexts(Words("uk"), child))


def test_the_mock_sheet_has_the_day_and_the_programme(tmp_path: Path) -> None:
    found = _rehearsal(_week(tmp_path, plan='programme = ["two", "one"]'))
    assert found.mock == MockSheet("Saturday 5 December", ("Quick Air", "Slow Air"))


def test_slips_are_pieces_and_starts(tmp_path: Path) -> None:
    whole = (Slip("Slow Air", ""), Slip("Quick Air", ""))
    marks = (Slip("Quick Air", "from mark A"), Slip("Quick Air", "from mark B"))
    assert _rehearsal(_week(tmp_path)).slips == (*whole, *marks)
    assert _rehearsal(_week(tmp_path, plan="memory = false")).slips == whole
    assert _rehearsal(_week(tmp_path, age=7), child=True) == Rehearsal(None, whole)


@pytest.mark.parametrize("pieces", [PIECES.replace("12-07", "12-25"), PIECES[: PIECES.index("[[piece]]", 3)]])
def test_nothing_to_draw_prints_nothing(tmp_path: Path, pieces: str) -> None:
    """A performance far off, and a single piece without marks."""
    assert _rehearsal(_week(tmp_path, pieces=pieces)).slips == ()


def test_they_stand_in_the_workbook(tmp_path: Path) -> None:

    week = _week(tmp_path)
    text = text_of(build_workbook(week).pdf)
    assert "Saturday 5 December. As on the day" in text
    assert text.count("Slow Air") >= 4
    assert "SLIPSTODRAW" in text.upper().replace(" ", "")
