"""Slow tier: writers that are killed in mid-write, and two writers at once; every acknowledged row is there, once."""

from __future__ import annotations

import os
import random
import signal
import time
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from excerpts.log import LogRow, append_rows, read_log
from excerpts.words import Words

pytestmark = pytest.mark.slow

MONDAY = date(2026, 11, 30)
PLAYER = "Ada Lind"


def row(name: str) -> LogRow:
    return LogRow(MONDAY, kind="day", note=f'{name}, "tired"')


def forked(work: Callable[[], None]) -> int:
    """Run `work` in a child process; it must not come back into the tests."""
    child = os.fork()
    if child == 0:
        status = 1
        try:
            work()
            status = 0
        finally:
            os._exit(status)
    return child


def write_and_acknowledge(path: Path, prefix: str, count: int, pipe: int) -> None:
    """Append rows one after the other and tell each through `pipe` only when it is said to be written."""
    for n in range(count):
        append_rows(path, [row(f"{prefix}-{n}")], PLAYER, Words())
        os.write(pipe, f"{prefix}-{n}\n".encode())


def slowly(handle: int, data: bytes, /) -> int:
    """A disk that takes a few bytes at a time, so that a kill falls inside a row."""
    for start in range(0, len(data), 5):
        _REAL_WRITE(handle, data[start : start + 5])
        time.sleep(0.0002)
    return len(data)


_REAL_WRITE = os.write


def acknowledged(pipe: int) -> list[str]:
    parts = []
    while part := os.read(pipe, 1 << 16):
        parts.append(part)
    # A line without its end was killed while it was told.
    return b"".join(parts).decode().split("\n")[:-1]


def notes(path: Path) -> Counter[str]:
    return Counter(found.note.partition(",")[0] for found in read_log(path, PLAYER).rows)


@pytest.mark.parametrize("kills", [30, pytest.param(200, marks=pytest.mark.long)])
def test_kill_9_in_mid_write(tmp_path: Path, kills: int) -> None:
    """Killed at random moments of writing: what was acknowledged is there, once, and nothing is glued."""
    path, chance = tmp_path / "log.csv", random.Random(6)
    told: list[str] = []
    for n in range(kills):
        reading, writing = os.pipe()

        def work(prefix: str = f"run{n}", pipe: int = writing) -> None:
            os.write = slowly  # type: ignore[assignment]  # in the child only
            for place in range(10_000):
                append_rows(path, [row(f"{prefix}-{place}")], PLAYER, Words())
                _REAL_WRITE(pipe, f"{prefix}-{place}\n".encode())

        child = forked(work)
        os.close(writing)
        time.sleep(chance.uniform(0.005, 0.1))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        told += acknowledged(reading)
        os.close(reading)
    append_rows(path, [row("last")], PLAYER, Words())
    log, found = read_log(path, PLAYER), notes(path)
    assert len(told) > kills / 2
    assert [name for name in told if found[name] != 1] == []
    assert found["last"] == 1
    del found[""]  # torn off right before the note: nobody was told, and the rest of the row is whole
    assert max(found.values()) == 1
    torn = len(log.faults)
    print(f"{kills} kills: {len(told)} rows acknowledged and found once, {torn} lines torn")  # noqa: T201
    assert torn > kills / 10, "no kill fell inside a row: the test shows nothing"
    lines = path.read_bytes().count(b"\n")
    assert lines == 2 + len(log.rows) + torn  # the first two lines tell columns and player


@pytest.mark.parametrize("rows", [150, pytest.param(1000, marks=pytest.mark.long)])
def test_two_writers_at_once(tmp_path: Path, rows: int) -> None:
    """Two processes at once: the rows of both are there, each once, each in a line of its own."""
    path = tmp_path / "log.csv"
    pipes = {name: os.pipe() for name in ("one", "two")}
    children = []
    for name, (_, writing) in pipes.items():

        def work(name: str = name, writing: int = writing) -> None:
            write_and_acknowledge(path, name, rows, writing)

        children.append(forked(work))
    told: list[str] = []
    for reading, writing in pipes.values():
        os.close(writing)
        told += acknowledged(reading)
        os.close(reading)
    assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0, 0]
    found = notes(path)
    assert len(told) == 2 * rows
    assert found == Counter(told)
    assert read_log(path, PLAYER).faults == ()
    order = [found.note.partition("-")[0] for found in read_log(path, PLAYER).rows]
    changes = sum(one != other for one, other in zip(order, order[1:], strict=False))
    print(f"{len(told)} rows of two writers found once, who took turns {changes} times")  # noqa: T201
    assert changes > 1, "the writers never took turns: the test shows nothing"
