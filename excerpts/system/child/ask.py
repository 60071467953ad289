"""The parent's side: starts a child, asks it, and tells why it died.

A child is started when it is first needed and serves request after request; one that died is started anew. It has
limits of its own (`excerpts.system.child.serve`), so that nothing in a file can hang or fill the machine.
"""

from __future__ import annotations

import atexit
import os
import sys
from threading import Lock
from typing import IO, TYPE_CHECKING, Final, cast

from excerpts.system.child.frames import receive, send
from excerpts.system.child.watch import Watch

if TYPE_CHECKING:  # most commands need no child, and loading this costs a tenth of a small cut
    import subprocess

MEGABYTE: Final = 1_000_000
SECONDS: Final = 10
"""Processor time for a piece of work where nothing else is said: a hundred times what the slowest passage takes."""
_PATIENCE: Final = 6
"""Seconds of waiting for each second of work, for machines with much else to do; then the child is stopped too."""


class ChildDiedError(Exception):
    """A child did not answer: it was stopped at one of its limits, or crashed.

    Attributes:
        reason: What happened, as a phrase that goes on from what was done ("took more than 10 seconds").
        late: It was stopped because it took too long.
    """

    def __init__(self, reason: str, *, late: bool = False) -> None:
        self.reason = reason
        self.late = late
        super().__init__(reason)


class Child:
    """A process that does one kind of work.

    Args:
        module: The module that serves it, run as `python -m`.
        megabytes: Memory that it may have.
    """

    def __init__(self, module: str, *, megabytes: int) -> None:
        self.module = module
        self.megabytes = megabytes
        self._lock = Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._watch: Watch | None = None
        self._owner = 0
        atexit.register(self.stop)

    def start(self) -> None:
        """Start the process if it is not there, and do not wait: it gets ready while others work."""
        with self._lock:
            self._running()

    def ask(self, *parts: bytes, seconds: int = SECONDS) -> list[bytes]:
        """Let it do one piece of work.

        Args:
            parts: What it needs to know.
            seconds: Processor time that it may take.

        Raises:
            ChildDiedError: It gave no answer.
        """
        with self._lock:
            process = self._running()
            watch = self._watch = self._watch or Watch(process)
            watch.expect(seconds * _PATIENCE)
            try:
                send(cast("IO[bytes]", process.stdin), [str(seconds).encode(), *parts])
                return receive(cast("IO[bytes]", process.stdout))
            except (EOFError, OSError) as error:
                raise self._death(self._ended(), seconds, late=watch.late) from error
            except BaseException:
                self._ended()  # interrupted in the middle of an answer: the next one would be the wrong one
                raise
            finally:
                watch.rest()

    def stop(self) -> None:
        """End the process; it holds nothing that would be lost."""
        if self._process is not None and self._owner == os.getpid():
            self._ended()

    def _running(self) -> subprocess.Popen[bytes]:
        import subprocess

        if self._process is None or self._owner != os.getpid():
            # -P: a file in the folder that we stand in is not taken for a module. A group of its own: Control-C
            # is for the parent, and the child ends when the parent's end of the pipe does.
            command = [sys.executable, "-P", "-m", self.module, str(self.megabytes * MEGABYTE)]
            pipe = subprocess.PIPE
            group = None if sys.platform == "win32" else 0
            self._process = subprocess.Popen(command, stdin=pipe, stdout=pipe, process_group=group)
            self._watch = None  # after a fork, the one that is there watches over the parent's process
            self._owner = os.getpid()
        return self._process

    def _ended(self) -> int:
        process, self._process = self._process, None
        watch, self._watch = self._watch, None
        if watch is not None:
            watch.end()
        if process is None:
            return 0
        import subprocess

        gone = process.poll()
        if gone is None:
            try:
                gone = process.wait(timeout=1)
            except subprocess.TimeoutExpired:
                process.kill()
                gone = process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                pipe.close()
        return gone

    def _death(self, status: int, seconds: int, *, late: bool) -> ChildDiedError:
        import signal

        if late or status == -getattr(signal, "SIGXCPU", 0):
            return ChildDiedError(f"took more than {seconds} seconds and was stopped", late=True)
        return ChildDiedError(f"needed more than {self.megabytes} MB of memory, or broke down")
