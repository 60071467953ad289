"""Warnings where practice grows too fast."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.week.load import load_warnings
from excerpts.words import Words
from tests.log.weeks import HEAD, RUN, week

MINUTES = "minutes = {mon = 30, wed = 30}"


def _with(minutes: str, start: str = "2026-11-30") -> str:
    return (
        (HEAD + RUN)
        .replace(MINUTES, f"minutes = {minutes}")
        .replace("start = 2026-11-30", f"start = {start}")
    )


@pytest.mark.parametrize(
    ("minutes", "jumps"),
    [
        ("{mon = 20, wed = 180}", True),
        ("{mon = 20, wed = 60}", False),  # a long day at the weekend
        ("{mon = 5, wed = 30}", False),
        ("{mon = 30, wed = 90}", False),
        ("{mon = 30, wed = 91}", True),
        ("{mon = 180, wed = 20}", False),
        ("40", False),
    ],
)
def test_a_day_that_jumps_is_warned_of(tmp_path: Path, minutes: str, jumps: bool) -> None:
    told = load_warnings(week(tmp_path, _with(minutes)), Words())
    assert len(told) == jumps
    assert not told or "2026-12-02 has" in told[0]


@pytest.mark.parametrize(
    ("before", "now", "rises"),
    [(30, 40, False), (30, 41, True), (10, 20, False), (12, 21, True), (40, 30, False)],
)
def test_a_week_that_rises_by_more_than_a_third_is_warned_of(
    tmp_path: Path, before: int, now: int, rises: bool
) -> None:
    week(tmp_path, _with("180", "2026-11-16"), "older.toml")
    week(tmp_path, _with(str(before), "2026-11-23"), "last.toml")
    week(tmp_path, _with("1", "2026-11-24").replace("Ada Lind", "Ida Ek"), "other.toml")
    (tmp_path / "broken.toml").write_text(
        "[player]\nname = 'Ada Lind'\n[week]\nstart = 3\n", encoding="utf-8"
    )
    told = load_warnings(week(tmp_path, _with(str(now))), Words())
    assert len(told) == rises
    assert not told or f"{now} minutes a day, the week of 2026-11-23 had {before}" in told[0]


def test_check_plan_and_workbook_say_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = str(week(tmp_path, _with("{mon = 20, wed = 180}")).path)
    assert main(["plan", path]) == 0
    assert "so large a jump" in capsys.readouterr().out
    assert main(["check", path]) == 0
    assert "so large a jump" in capsys.readouterr().err
    assert main(["workbook", path]) == 0
    assert "so large a jump" in capsys.readouterr().err
