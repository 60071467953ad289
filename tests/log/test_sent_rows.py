"""Rows that a player sent: what is new, known or asked about; read and added by the command and the page alike."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.cli import main
from excerpts.log import Log, LogError, LogRow, append_rows, commit, preview, read_log
from excerpts.log.row import undo_row
from excerpts.week import Week
from excerpts.words import Words
from tests.log.weeks import HEAD, MONDAY, RUN, TONE, row, week

ROWS = [row(tempo=54, clean=3, day=1), row(tempo=58, clean=5, day=2, note="thumb"), row("tone", clean=2)]


@pytest.fixture
def ada(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Week:
    monkeypatch.chdir(tmp_path)
    return week(tmp_path, HEAD + RUN + TONE)


def sent(folder: Path, rows: Sequence[LogRow], player: str = "Ada Lind") -> bytes:
    path = folder / "sent.csv"
    path.unlink(missing_ok=True)
    append_rows(path, rows, player, Words())
    return path.read_bytes()


@settings(max_examples=40)
@given(st.lists(st.sampled_from(ROWS), max_size=6), st.lists(st.sampled_from(ROWS), max_size=6))
def test_what_is_sent_is_in_the_log_afterwards_as_often_as_it_was_sent_and_sending_it_again_adds_nothing(
    tmp_path_factory: pytest.TempPathFactory, there: list[LogRow], more: list[LogRow]
) -> None:
    folder = tmp_path_factory.mktemp("sent")
    ada, path = week(folder, HEAD + RUN + TONE), folder / "log.csv"
    append_rows(path, there, "Ada Lind", Words())
    data = sent(folder, more)
    added = commit(data, "sent.csv", ada, path)
    rows = read_log(path, "Ada Lind").rows
    assert all(rows.count(one) == max(there.count(one), more.count(one)) for one in ROWS)
    assert len(added) == len(rows) - len(there)
    assert commit(data, "sent.csv", ada, path) == ()


def test_what_is_asked_about(ada: Week, tmp_path: Path) -> None:
    early = LogRow(MONDAY, date(2026, 11, 29), "box", "run", clean=2)
    rows = [early, row(tempo=600), ROWS[0]]
    made = preview(sent(tmp_path, rows), "sent.csv", ada, Log(tmp_path / "log.csv"))
    assert made.fresh == (ROWS[0],)
    assert [question for _, question in made.asked] == [
        "2026-11-29 is before the week of 2026-11-30.",
        "crotchet = 600? The goal is crotchet = 80.",
    ]


def test_a_row_that_was_taken_back_comes_in_only_when_somebody_says_so(ada: Week, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append_rows(path, [ROWS[0], undo_row(ROWS[0])], "Ada Lind", Words())
    data = sent(tmp_path, [ROWS[0]])
    made = preview(data, "sent.csv", ada, read_log(path, "Ada Lind"))
    assert made.asked == ((ROWS[0], "This row was taken back, and is there again."),)
    assert commit(data, "sent.csv", ada, path) == ()
    assert commit(data, "sent.csv", ada, path, [ROWS[0]]) == (ROWS[0],)
    assert read_log(path, "Ada Lind").rows == (ROWS[0],)


def test_what_the_player_took_back_is_taken_back(ada: Week, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append_rows(path, ROWS, "Ada Lind", Words())
    data = sent(tmp_path, [*ROWS, undo_row(ROWS[1])])
    assert commit(data, "sent.csv", ada, path) == (undo_row(ROWS[1]),)
    assert read_log(path, "Ada Lind").rows == (ROWS[0], ROWS[2])
    assert commit(data, "sent.csv", ada, path) == ()


def test_whose_rows_they_are(ada: Week, tmp_path: Path) -> None:
    data = sent(tmp_path, ROWS, "Ida Lund")
    book = Log(tmp_path / "log.csv")
    with pytest.raises(LogError, match=r"sent.csv: this is the log of Ida Lund, not of Ada Lind"):
        preview(data, "sent.csv", ada, book)
    nobodys = b"\n".join(line for line in data.split(b"\n") if b"player" not in line)
    with pytest.raises(LogError, match="does not say whose rows these are"):
        preview(nobodys, "sent.csv", ada, book)
    with pytest.raises(LogError, match="not the log of a player"):
        preview(b"hello", "sent.csv", ada, book)


def test_the_command_shows_asks_and_adds(
    ada: Week, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sent(tmp_path, [*ROWS, row(tempo=600)])
    with (tmp_path / "sent.csv").open("a") as file:
        file.write("nonsense\n")
    log = tmp_path / "ada-lind-log.csv"
    for answers, status, count in (("", 2, 0), ("n\nn\n", 2, 0), ("n\ny\n", 0, 3), ("y\ny\n", 0, 4)):
        monkeypatch.setattr("sys.stdin", io.StringIO(answers))
        assert main(["log", "ada.toml", "--from", "sent.csv"]) == status
        assert len(read_log(log, "Ada Lind").rows) == count
    told = capsys.readouterr()
    assert "sent.csv: 3 already in the log, 1 new." in told.out
    assert "2026-11-30,2026-12-02,box,run,58,crotchet,5,,thumb" in told.out
    assert "sent.csv, line 7: It has 1 columns" in told.err
    assert main(["log", "ada.toml", "--from", "sent.csv", "--yes"]) == 0
    assert "Nothing to write down" in capsys.readouterr().out
    assert main(["log", "ada.toml", "--from", "sent.csv", "--day", "tue"]) == 2
    assert main(["log", "ada.toml", "--from", "none.csv"]) == 2
