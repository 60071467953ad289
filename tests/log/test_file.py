"""The log file: added to, never spoilt; torn and bad lines are told and harm no other."""

from __future__ import annotations

import os
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import OutputError
from excerpts.excerpt import Tempo
from excerpts.log import LogError, LogRow, append_rows, read_log
from excerpts.log.row import HEADER, undo_row
from excerpts.words import Words
from tests.log.spreadsheets import DATES, saved

MONDAY = date(2026, 11, 30)
ROW = LogRow(MONDAY, date(2026, 12, 1), "box", "run", Tempo(Fraction(60)), 3, "14", "left hand, late")
OTHER = LogRow(MONDAY, date(2026, 12, 2), "day", note="ill")
FIRST = f"{HEADER}\n,,player,,,,,,Ada Lind\n"


def append(path: Path, *rows: LogRow, player: str = "Ada Lind") -> tuple[str, ...]:
    return tuple(str(fault) for fault in append_rows(path, rows, player, Words()))


def test_a_log_that_is_not_there_is_empty(tmp_path: Path) -> None:
    log = read_log(tmp_path / "none.csv", "Ada Lind")
    assert (log.rows, log.faults) == ((), ())
    (tmp_path / "empty.csv").write_bytes(b"")
    assert read_log(tmp_path / "empty.csv", "Ada Lind").rows == ()


def test_rows_are_added_under_a_first_line_that_names_the_columns_and_the_player(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    assert append(path, ROW) == ()
    assert append(path, OTHER, ROW) == ()
    assert path.read_text().startswith(FIRST)
    assert path.read_text().count("player") == 1
    assert read_log(path, "ada  LIND").rows == (ROW, OTHER, ROW)


def test_the_log_of_another_player_is_refused_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW)
    before = path.read_bytes()
    with pytest.raises(LogError, match="the log of Ada Lind, not of Ida Lund"):
        read_log(path, "Ida Lund")
    with pytest.raises(LogError, match="the log of Ada Lind, not of Ida Lund"):
        append(path, ROW, player="Ida Lund")
    assert path.read_bytes() == before


@pytest.mark.parametrize("content", [b"a,b,c\n1,2,3\n", b"\x89PNG\r\n\x1a\n", b"date,week\n", b"[player]\n"])
def test_what_is_no_log_is_refused_and_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    with pytest.raises(LogError, match="not the log of a player"):
        read_log(path, "Ada Lind")
    with pytest.raises(LogError, match="not the log of a player"):
        append(path, ROW)
    assert path.read_bytes() == content


def test_bad_rows_are_told_by_line_and_stay(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW)
    bad = b"2026-11-30,soon,box,run,60,crotchet,3,,\n\n" + "2026-11-30,,day,,,,,,caf\xe9\n".encode("latin-1")
    bad += b'2026-11-30,,day,,,,,,"open\n'
    path.write_bytes(path.read_bytes() + bad)
    append(path, OTHER)
    log = read_log(path, "Ada Lind")
    assert log.rows == (ROW, OTHER)
    assert [fault.line for fault in log.faults] == [4, 6, 7]
    assert "log.csv, line 4: " in str(log.faults[0])
    assert "UTF-8" in str(log.faults[1])
    assert bad in path.read_bytes()


@pytest.mark.parametrize(("delimiter", "start", "end"), [(";", "", "\r\n"), ("\t", "\ufeff", "\n")])
def test_what_a_spreadsheet_saves_is_read_and_added_to(
    tmp_path: Path, delimiter: str, start: str, end: str
) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW)
    saved = start + path.read_text().replace('"left hand, late"', "left hand").replace(",", delimiter)
    path.write_bytes(saved.replace("\n", end).encode())
    append(path, OTHER)
    log = read_log(path, "Ada Lind")
    assert [row.note for row in log.rows] == ["left hand", "ill"]
    assert log.faults == ()


@pytest.mark.parametrize("days", DATES.values(), ids=DATES)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("turned", [False, True], ids=["as written", "other order"])
def test_a_log_that_a_spreadsheet_saved_is_read_and_added_to(
    tmp_path: Path, days: tuple[str, str, str], encoding: str, turned: bool
) -> None:
    """Each dialect of dates, in the columns as they were or turned round, empty rows between."""
    path = tmp_path / "log.csv"
    append(path, ROW, OTHER)
    path.write_bytes(saved(path.read_text(), days, encoding, turned=turned))
    assert append(path, OTHER) == ()
    log = read_log(path, "Ada Lind")
    assert (log.rows, log.faults) == ((ROW, OTHER, OTHER), ())
    append(path, undo_row(OTHER))
    assert read_log(path, "Ada Lind").rows == (ROW, OTHER)
    with pytest.raises(LogError, match="the log of Ada Lind"):
        append(path, ROW, player="Ida Lund")


def test_a_date_that_no_other_row_tells_is_a_fault_and_never_a_guess(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(FIRST + "7/12/2026,,day,,,,,,a\n2026-12-07,8/12/2026,day,,,,,,b\n")
    assert [fault.line for fault in read_log(path, "Ada Lind").faults] == [3, 4]
    path.write_text(path.read_text() + "7/12/2026,13/12/2026,day,,,,,,c")
    assert append(path, OTHER) == ()  # the last line lacks only its end
    log = read_log(path, "Ada Lind")
    assert ([row.note for row in log.rows], log.faults) == (["a", "b", "c", "ill"], ())
    assert log.rows[1].date == date(2026, 12, 8)


def test_nothing_is_decided_from_the_rest_of_a_log(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW, OTHER)
    few = path.read_text()
    read_log(path, "Ada Lind").refuse_unread()
    path.write_text(few + "x\n" * 3)
    read_log(path, "Ada Lind").refuse_unread()
    path.write_text(few + "x\n" * 4)
    with pytest.raises(LogError, match=r"only 3 of its 7 lines can be read.*line 5"):
        read_log(path, "Ada Lind").refuse_unread()


def test_a_last_line_typed_without_an_end_counts(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW)
    path.write_bytes(path.read_bytes() + b"2026-11-30,,day,,,,,,typed")
    assert append(path, OTHER) == ()
    assert [row.note for row in read_log(path, "Ada Lind").rows] == ["left hand, late", "typed", "ill"]


WHOLE = FIRST + '2026-11-30,2026-12-01,box,run,60,crotchet,3,14,"left ""hand"", bén late"\n'


@settings(max_examples=60)
@given(st.integers(0, len(WHOLE.encode())))
def test_a_file_torn_anywhere_is_told_and_nothing_is_glued_to_it(
    tmp_path_factory: pytest.TempPathFactory, cut: int
) -> None:
    """Whatever a crash leaves of the last write, the next row is whole, and the torn line is told or is a row."""
    path = tmp_path_factory.mktemp("torn") / "log.csv"
    torn = WHOLE.encode()[:cut]
    path.write_bytes(torn)
    lines_before = torn.count(b"\n")
    append(path, OTHER)
    append(path, ROW)
    log = read_log(path, "Ada Lind")
    assert log.rows[-2:] == (OTHER, ROW)
    assert path.read_bytes().startswith(torn)
    complete = torn.decode(errors="replace").split("\n")[-1]
    if lines_before and complete:
        told = [fault.line for fault in log.faults]
        assert told == [lines_before + 1] or log.rows[0].box == "run"
    else:
        assert log.faults == ()
    assert len(log.rows) <= 3


def test_the_torn_line_is_told_when_it_is_closed_and_ever_after(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(WHOLE + '2026-11-30,2026-12-02,box,run,63,crotchet,2,,"he said')
    assert "line 4" in str(read_log(path, "Ada Lind").faults[0])
    (told,) = append(path, OTHER)
    assert "line 4" in told
    assert append(path, OTHER) == ()
    (fault,) = read_log(path, "Ada Lind").faults
    assert "line 4: It was cut short when it was written" in str(fault)


@pytest.mark.parametrize("name", ["write", "fsync"])
def test_a_full_disk_leaves_the_log_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    path = tmp_path / "log.csv"
    append(path, ROW)
    before = path.read_bytes()
    real = os.write
    calls: list[int] = []

    def full(handle: int, data: bytes = b"") -> int:
        calls.append(handle)
        if name == "write" and len(calls) == 1:
            return real(handle, data[:7])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(f"excerpts.log.append.os.{name}", full)
    with pytest.raises(OutputError, match="No space left on device"):
        append(path, OTHER)
    assert path.read_bytes() == before
    assert calls


def test_a_text_too_long_makes_no_file(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="longer than 2000"):
        append(tmp_path / "log.csv", LogRow(MONDAY, kind="day", note="x" * 3000))
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="No such file"):
        append(tmp_path / "none" / "log.csv", ROW)


def test_a_file_too_large_to_be_a_log(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    with path.open("wb") as file:
        file.truncate(30_000_000)
    with pytest.raises(LogError, match="larger than 20 MB"):
        read_log(path, "Ada Lind")
    with pytest.raises(LogError, match="larger than 20 MB"):
        append(path, ROW)
