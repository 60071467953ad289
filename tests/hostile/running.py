"""Runs a command on a hostile file within limits, in a child, and tells what it cost."""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from excerpts.cli import main
from excerpts.engrave.draw import ENGRAVER
from excerpts.score.foreign import CONVERTER

SECONDS: Final = 10
"""Processor time that a hostile file may cost."""

MEGABYTES: Final = 500
"""Memory that it may cost, over what the tests themselves have."""

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
    """

    status: int
    out: str
    err: str
    seconds: float
    megabytes: float


def run(folder: Path, *arguments: str | Path) -> Ran:
    """Run `excerpts` with arguments.

    Args:
        folder: Where what it prints may be kept.
        arguments: The command and what it takes.
    """
    out, err = folder / "printed.out", folder / "printed.err"
    before = _resident()
    child = os.fork()
    if child == 0:
        _in_child(out, err, [str(argument) for argument in arguments])
    _, status, used = os.wait4(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return Ran(
        code,
        out.read_text("utf-8", "replace"),
        err.read_text("utf-8", "replace"),
        used.ru_utime + used.ru_stime,
        max(0.0, used.ru_maxrss / 1000 - before),
    )


def _in_child(out: Path, err: Path, arguments: list[str]) -> None:
    status = _CRASHED
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
        status = main(["--debug", *arguments])
        ENGRAVER.stop()
        CONVERTER.stop()
    except BaseException:  # also what pytest would take for its own
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


def _resident() -> float:
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


def _virtual() -> int:
    return int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
