"""Measures a command in processes of its own: processor time, time on the clock, memory of all its processes."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

_PAUSE = 0.02
"""Seconds between two looks at the memory."""
_ADOPT = 36
"""PR_SET_CHILD_SUBREAPER of Linux (prctl(2)): processes that outlive who started them become our children."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a command cost.

    Attributes:
        processor: Seconds of processor time, of all its processes.
        clock: Seconds on the clock.
        memory: The most that all its processes together held, in megabytes (pages that they share count twice).
    """

    processor: float
    clock: float
    memory: float


def environment(cache: Path) -> dict[str, str]:
    """Compiled modules are kept, as they are where a package is installed; the cache stands where it is said."""
    named = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return named | {"XDG_CACHE_HOME": str(cache)}


def cost(
    command: Sequence[str],
    *,
    env: Mapping[str, str],
    runs: int = 1,
    cwd: Path | None = None,
    status: int = 0,
) -> Cost:
    """Run a command several times and take the best of each figure.

    Raises:
        RuntimeError: It ended with another status than it should.
    """
    found = [_once(command, env, cwd, status) for _ in range(runs)]
    return Cost(
        min(one.processor for one in found), min(one.clock for one in found), min(one.memory for one in found)
    )


def _once(command: Sequence[str], env: Mapping[str, str], cwd: Path | None, status: int) -> Cost:
    with tempfile.TemporaryFile() as said:
        ctypes.CDLL(None).prctl(_ADOPT, 1)
        start = time.monotonic()
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=said, env=env, cwd=cwd)
        most = 0.0
        while True:
            gone, ended, used = os.wait4(process.pid, os.WNOHANG)
            if gone:
                break
            most = max(most, _held(process.pid))
            time.sleep(_PAUSE)
        clock = time.monotonic() - start
        process.returncode = os.waitstatus_to_exitcode(ended)
        if process.returncode != status:
            said.seek(0)
            raise RuntimeError(f"{' '.join(command)}: {said.read().decode()[-2000:]}")
    return Cost(used.ru_utime + used.ru_stime + _left_behind(), clock, most)


def _left_behind() -> float:
    """Processor time of what a command left behind: a builder of a studio does not wait for its engraver's end."""
    total = 0.0
    while True:
        try:
            used = os.wait4(-1, 0)[2]
        except ChildProcessError:
            return total
        total += used.ru_utime + used.ru_stime


def _held(pid: int) -> float:
    """Megabytes that a process and all below it hold; what ends while it is looked at counts nothing."""
    total = 0.0
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
        total = pages * os.sysconf("SC_PAGE_SIZE") / 1e6
        for task in Path(f"/proc/{pid}/task").iterdir():
            children = (task / "children").read_text(encoding="ascii").split()
            total += sum(_held(int(child)) for child in children)
    except (FileNotFoundError, ProcessLookupError):
        return total
    return total


def python(*arguments: str) -> list[str]:
    """A command of this Python."""
    return [sys.executable, *arguments]


EXCERPTS = python("-c", "import sys; from excerpts.cli import run; run()")
"""The command line, as its entry point starts it."""
