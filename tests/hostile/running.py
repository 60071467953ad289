"""Runs a command on a hostile file within limits, in a child, and tells what it cost."""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final

from excerpts.cli import main
from excerpts.engrave.verovio_page import ENGRAVER
from excerpts.score.opening import CONVERTER
from excerpts.workbook import build_workbook

SECONDS: Final = 10
"""Processor time that a hostile file may cost."""

MEGABYTES: Final = 500
"""Memory that it may cost, over what the tests themselves have."""

_REACHING: Final = frozenset(
    {
        "socket.connect",
        "socket.getaddrinfo",
        "socket.gethostbyname",
        "urllib.Request",
        "subprocess.Popen",
        "os.system",
    }
)
LOADED: Final = build_workbook
"""Everything is imported before the first run: the libraries look for others with the help of a compiler."""

_WALL: Final = 60
_CRASHED: Final = 99


@dataclass(frozen=True)
class Ran:
    """What became of a command.

    Attributes:
        status: Its exit status; 99 where it raised, negative where a signal killed it.
        out: What it printed.
        err: What it said on the error stream.
        seconds: Processor time, with that of the children it waited for.
        megabytes: The most memory that it had over the start.
        opened: Files that it opened (Python's audit event "open"; what was opened for writing has "w " in front).
        reached: Hosts and programs that it tried to reach or start, but for the children of the package.
    """

    status: int
    out: str
    err: str
    seconds: float
    megabytes: float
    opened: frozenset[str] = frozenset()
    reached: frozenset[str] = frozenset()


def run(folder: Path, *arguments: str | Path) -> Ran:
    """Run `excerpts` with arguments.

    Args:
        folder: Where what it prints may be kept.
        arguments: The command and what it takes.
    """
    out, err, seen = (folder / f"printed.{name}" for name in ("out", "err", "seen"))
    before = _resident()
    child = os.fork()
    if child == 0:
        _in_child(out, err, seen, [str(argument) for argument in arguments])
    _, status, used = os.wait4(child, 0)
    code = os.waitstatus_to_exitcode(status)
    events = [line.partition(" ") for line in seen.read_text("utf-8", "replace").splitlines()]
    return Ran(
        code,
        out.read_text("utf-8", "replace"),
        err.read_text("utf-8", "replace"),
        used.ru_utime + used.ru_stime,
        max(0.0, used.ru_maxrss / 1000 - before),
        frozenset(what for kind, _, what in events if kind == "open"),
        frozenset(what for kind, _, what in events if kind == "reach"),
    )


def _in_child(out: Path, err: Path, seen: Path, arguments: list[str]) -> None:
    status = _CRASHED
    events = seen.open("w", encoding="utf-8", errors="replace")
    try:
        for number, path in ((1, out), (2, err)):
            os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
        sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
        limit = _virtual() + MEGABYTES * 1_000_000
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.alarm(_WALL)
        sys.addaudithook(lambda event, what: _hear(events, event, what))
        status = main(["--debug", *arguments])
        ENGRAVER.stop()
        CONVERTER.stop()
    except BaseException:  # also what pytest would take for its own
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        events.flush()
        os._exit(status)


def _hear(events: IO[str], event: str, what: tuple[object, ...]) -> None:
    if event == "open" and not isinstance(what[0], int):
        written = isinstance(what[2], int) and what[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
        events.write(f"open {'w ' if written else ''}{what[0]!s}\n")
    elif event == "subprocess.Popen" and "excerpts.system.child." in str(what[1]):
        pass
    elif event in _REACHING or event.startswith(("os.exec", "os.spawn", "os.posix_spawn")):
        events.write(f"reach {event} {what[:2]!s}\n")


def _resident() -> float:
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


def _virtual() -> int:
    return int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
