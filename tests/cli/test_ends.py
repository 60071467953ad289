"""How the process of a command ends: what it printed is whole, or it says so; its children end too. Tier: default."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import IO

import pytest

SCORE = Path(__file__).parents[2] / "scores" / "loom-study.musicxml"
_RUN = [sys.executable, "-c", "from excerpts.cli import run; run()"]


def _end(*arguments: str, stdout: int | IO[bytes]) -> tuple[int, str]:
    found = subprocess.run([*_RUN, *arguments], stdout=stdout, stderr=subprocess.PIPE, check=False)
    return found.returncode, found.stderr.decode()


@pytest.mark.slow
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="a device of Linux that is always full")
@pytest.mark.parametrize("command", ["show", "plan"], ids=["the short way", "the usual way"])
def test_what_cannot_be_printed_is_told(command: str) -> None:
    week = SCORE.parent / "weeks" / "noor-week-49.toml"
    with open("/dev/full", "wb") as full:
        status, said = _end(command, str(SCORE if command == "show" else week), stdout=full)
    assert status == 1
    assert said.startswith("excerpts: ")
    assert "No space left on device" in said
    assert "Traceback" not in said


def test_a_reader_that_has_seen_enough_is_no_fault() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        status, said = _end("show", str(SCORE), stdout=writing)
    finally:
        os.close(writing)
    assert (status, said) == (0, "")


def test_everything_printed_arrives_through_a_pipe(tmp_path: Path) -> None:
    told = subprocess.run([*_RUN, "show", str(SCORE), "--json"], stdout=subprocess.PIPE, check=True).stdout
    with (tmp_path / "told").open("wb") as file:
        assert _end("show", str(SCORE), "--json", stdout=file) == (0, "")
    assert (tmp_path / "told").read_bytes() == told
    assert told.rstrip().endswith(b"}")


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_the_engraver_has_ended_when_the_command_has(tmp_path: Path) -> None:
    mark = f"MARK_{tmp_path.name}={os.getpid()}"
    name, _, value = mark.partition("=")
    target = tmp_path / "a.svg"
    line = [*_RUN, "cut", str(SCORE), "2-3", "-o", str(target)]
    subprocess.run(line, env=os.environ | {name: value}, check=True, stdout=subprocess.DEVNULL)
    assert target.is_file()
    assert not [path for path in Path("/proc").glob("[0-9]*/environ") if mark.encode() in _read(path)]


def _read(path: Path) -> bytes:
    """What a file of a process holds; nothing for one that is gone by now."""
    try:
        return path.read_bytes()
    except OSError:
        return b""
