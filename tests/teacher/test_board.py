"""The board of the studio: the latest week of each player, one page for forty, and files that cannot be read."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pikepdf
import pytest

from excerpts.cli import main
from excerpts.errors import WeekError
from excerpts.teacher.board import Board, board
from excerpts.teacher.document import board_pdf
from excerpts.teacher.players import latest_weeks
from excerpts.teacher.standing_sheet import read_states
from excerpts.words import Words
from tests.log.weeks import HEAD, TONE, row
from tests.teacher.players import EARLIER, FULL, player, write


def made(folder: Path, today: date = date.min) -> Board:
    players = latest_weeks(folder)
    read = read_states(players.weeks)
    return board(read.states, Words(), [*players.faults, *read.faults], today)


def test_the_latest_week_of_every_player_counts(tmp_path: Path) -> None:
    (tmp_path / "ida").mkdir()
    player(tmp_path)
    player(tmp_path / "ida", "Ida Ek", file="old.toml")
    player(tmp_path / "ida", "Ida Ek", FULL.replace("start = 2026-11-30", "start = 2026-12-01"), "new.toml")
    (tmp_path / "studio.toml").write_text("format = 1\n")
    (tmp_path / "set.toml").write_text(TONE)
    (tmp_path / ".hidden").mkdir()
    (tmp_path / ".hidden" / "bad.toml").write_text("[[")
    weeks = latest_weeks(tmp_path).weeks
    assert [(week.player.name, week.path.name) for week in weeks] == [
        ("Ada Lind", "Ada-Lind.toml"),
        ("Ida Ek", "new.toml"),
    ]


def test_what_the_board_says(tmp_path: Path) -> None:
    write(player(tmp_path), row(tempo=54, clean=3, day=0), row("song", kind="run-through"), *EARLIER)
    ida = player(tmp_path, "Ida Ek", HEAD + TONE)
    write(ida, row("tone", clean=3, day=1, weeks=-1))
    player(tmp_path, "Udo Amsel", HEAD + TONE)
    ada, *others = made(tmp_path).rows
    assert (ada.player, ada.instrument, ada.lesson) == ("Ada Lind", "violin", "Mon 7 Dec")
    assert (ada.practised, ada.boxes, ada.checks, ada.stuck) == ("1 of 2 +", 2, 1, "Song, bar 4")
    assert ada.date == "12 Dec, 5 days: Gavotte"
    assert [(one.player, one.practised, one.silent) for one in others] == [
        ("Ida Ek", "none since 24 Nov", True),
        ("Udo Amsel", "none", True),
    ]
    assert [line for _, line in made(tmp_path).summary] == [
        "Ida Ek, Udo Amsel",
        "Ada Lind",
        "Ada Lind (12 Dec)",
    ]


def test_a_week_that_has_not_begun_is_not_silent(tmp_path: Path) -> None:
    player(tmp_path)
    assert made(tmp_path, date(2026, 11, 30)).summary[0][1] == "nobody"
    assert made(tmp_path, date(2026, 12, 1)).summary[0][1] == "Ada Lind"


def test_every_performance_from_the_week_on_is_shown(tmp_path: Path) -> None:
    """One before the next lesson is nearer than any after it."""
    concert = '[[piece]]\nid = "duo"\ntitle = "Duo"\nstatus = "performance"\ndate = 2026-12-03\n'
    player(tmp_path, text=FULL + concert)
    board = made(tmp_path)
    assert board.rows[0].date == "3 Dec: Duo; 12 Dec, 5 days: Gavotte"
    assert board.summary[2][1] == "Ada Lind (3 Dec)"
    assert main(["board", str(tmp_path), "-o", str(tmp_path / "board.pdf"), "--today", "2026-12-04"]) == 0
    later = made(tmp_path, date(2026, 12, 4))
    assert later.rows[0].date == "12 Dec, 5 days: Gavotte"
    assert later.summary[2][1] == "Ada Lind (12 Dec)"


def test_lessons_come_in_the_order_of_their_days(tmp_path: Path) -> None:
    player(tmp_path, text=FULL.replace("start = 2026-11-30", "start = 2026-12-03"))
    player(tmp_path, "Zoe Orr")
    assert [found.player for found in made(tmp_path).rows] == ["Zoe Orr", "Ada Lind"]


def test_files_and_logs_that_cannot_be_read_are_told_and_stop_nobody(tmp_path: Path) -> None:
    player(tmp_path)
    (tmp_path / "bad.toml").write_text("[player]\nname = 1\n[week]\n")
    (tmp_path / "worse.toml").write_bytes(b"\xff\xff")
    ida = player(tmp_path, "Ida Ek")
    (tmp_path / "ida-ek-log.csv").write_text("nonsense\n")
    write(player(tmp_path, "Udo Amsel"), row(tempo=54, clean=3, day=0))
    with (tmp_path / "udo-amsel-log.csv").open("a") as file:
        file.write("broken\n")
    found = made(tmp_path)
    assert [one.player for one in found.rows] == ["Ada Lind", ida.player.name, "Udo Amsel"]
    told = "\n".join(found.faults)
    for name in ("bad.toml", "worse.toml", "ida-ek-log.csv", "udo-amsel-log.csv, line 4"):
        assert name in told
    assert board_pdf(found, Words()).startswith(b"%PDF")


def test_forty_players_are_on_one_page(tmp_path: Path) -> None:
    for place in range(40):
        player(tmp_path, f"Player {place:02} Longname-Hyphen")
    pdf = board_pdf(made(tmp_path), Words())
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) == 1


def test_folders_without_a_studio(tmp_path: Path) -> None:
    with pytest.raises(WeekError, match="no such folder"):
        latest_weeks(tmp_path / "none")
    with pytest.raises(WeekError, match="no week file"):
        latest_weeks(tmp_path)
