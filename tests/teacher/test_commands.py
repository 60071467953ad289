"""`excerpts lesson`, `board`, `notes` and `progress`: what they write and refuse."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from tests.log.weeks import row
from tests.teacher.players import player, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write(player(tmp_path, file="week.toml"), row(tempo=54, clean=3, day=0))
    monkeypatch.chdir(tmp_path)
    return tmp_path


COMMANDS = [
    (["lesson", "week.toml", "-o", "o.pdf"], b"%PDF"),
    (["board", ".", "-o", "o.pdf"], b"%PDF"),
    (["notes", "-o", "o.pdf"], b"%PDF"),
    (["notes", "--words", "us", "-o", "o.pdf"], b"%PDF"),
    (["notes", "--words", "de", "--paper", "letter", "-o", "o.pdf"], b"%PDF"),
    (["progress", "week.toml", "-o", "o.pdf"], b"%PDF"),
    (["progress", "week.toml", "-o", "o.svg"], b"<?xml"),
]


@pytest.mark.slow
@pytest.mark.parametrize(("command", "start"), COMMANDS)
def test_pages_are_written_whole_and_over_nothing_of_the_users(
    folder: Path, capsys: pytest.CaptureFixture[str], command: list[str], start: bytes
) -> None:
    target = folder / command[-1]
    target.write_bytes(b"mine")
    assert main(command) == 2
    assert target.read_bytes() == b"mine"
    target.unlink()
    assert main(command) == 0
    first = target.read_bytes()
    assert first.startswith(start)
    assert main(command) == 0  # what it made itself
    assert target.read_bytes() == first
    assert main([*command[:-1], f"none/{command[-1]}"]) == 2
    assert main([*command[:-1], "o.txt"]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_the_table_of_progress(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with (folder / "ada-lind-log.csv").open("a") as file:
        file.write("broken\n")
    assert main(["progress", "week.toml"]) == 0
    said = capsys.readouterr()
    assert "Box 1, Song, bar 4" in said.out
    assert "line 4" in said.err


def test_a_board_with_a_file_that_cannot_be_read_is_written_and_told(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "bad.toml").write_text("[[")
    assert main(["board", ".", "-o", "o.pdf"]) == 2
    said = capsys.readouterr()
    assert "bad.toml" in said.err
    assert "(1 players)" in said.out
    assert (folder / "o.pdf").exists()


def test_the_log_of_another_player_is_not_read(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two names that make one file name: each player has a log, and the second one's has no rows yet."""
    player(folder, "Áda Lind", file="other.toml")
    with (folder / "ada-lind-log.csv").open("a") as file:
        file.write("broken\n")
    assert main(["lesson", "other.toml", "-o", "o.pdf"]) == 0
    assert main(["progress", "other.toml"]) == 0
    said = capsys.readouterr()
    assert "line 4" not in said.err
    assert all(line.endswith(" –") for line in said.out.splitlines() if line.lstrip().startswith("Box 1"))
