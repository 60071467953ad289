"""The parent's side: starts a child, asks it, and tells why it died.

A child is started when it is first needed and serves request after request; one that died is started anew. It has
limits of its own (`excerpts.system.child.serve`), so that nothing in a file can hang or fill the machine.
"""

from __future__ import annotations

import atexit
import os
import sys
from contextlib import suppress
from threading import Event, Lock, Timer
from typing import IO, TYPE_CHECKING, Final, cast

from excerpts.system.child.serve import receive, send

if TYPE_CHECKING:  # most commands need no child, and loading this costs a tenth of a small cut
    import subprocess
    from collections.abc import Callable

MEGABYTE: Final = 1_000_000
SECONDS: Final = 10
"""Processor time for a piece of work where nothing else is said: a hundred times what the slowest passage takes."""
_GRACE: Final = 1
"""Seconds in which a process that has no more to do ends."""
_PATIENCE: Final = 6
"""Seconds of waiting for each second of work, for machines with much else to do; then the child is stopped too."""


class ChildDiedError(Exception):
    """A child did not answer: it was stopped at one of its limits, or crashed.

    Attributes:
        reason: What happened, as a phrase that goes on from what was done ("took more than 10 seconds").
        late: It was stopped because it took too long.
        ended: How the process ended, and the last that it said where that is kept ("signal 9: out of memory").
    """

    def __init__(self, reason: str, *, late: bool = False, ended: str = "") -> None:
        self.reason = reason
        self.late = late
        self.ended = ended
        super().__init__(reason)


def _temporary() -> IO[bytes]:
    import tempfile

    return cast("IO[bytes]", tempfile.TemporaryFile())


class Child:
    """A process that does one kind of work.

    Args:
        module: The module that serves it, run as `python -m`.
        megabytes: Memory that it may have.
        heard: What it says on its error stream goes to ours; else the last line of it goes into the error when it dies.
    """

    def __init__(self, module: str, *, megabytes: int, heard: bool = True) -> None:
        self.module = module
        self.megabytes = megabytes
        self._said: IO[bytes] | None = None if heard else _temporary()
        self._lock = Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._owner = 0
        atexit.register(self.stop)

    def start(self) -> None:
        """Start the process if it is not there, and do not wait: it gets ready while others work."""
        with self._lock:
            self._running()

    def ask(
        self, *parts: bytes, seconds: int = SECONDS, news: Callable[[bytes], None] | None = None
    ) -> list[bytes]:
        """Let it do one piece of work.

        Args:
            parts: What it needs to know.
            seconds: Processor time that it may take.
            news: Told what it tells meanwhile.

        Raises:
            ChildDiedError: It gave no answer.
        """
        with self._lock:
            process, late = self._running(), Event()

            def give_up() -> None:
                late.set()
                process.kill()

            patience = Timer(seconds * _PATIENCE, give_up)
            patience.daemon = True
            patience.start()
            try:
                send(cast("IO[bytes]", process.stdin), [str(seconds).encode(), *parts])
                return receive(cast("IO[bytes]", process.stdout), news)
            except (EOFError, OSError) as error:
                raise self._death(self._ended(), seconds, late=late.is_set()) from error
            except BaseException:
                self._ended()  # interrupted in the middle of an answer: the next one would be the wrong one
                raise
            finally:
                patience.cancel()

    def stop(self) -> None:
        """End the process; it holds nothing that would be lost."""
        if self._process is not None and self._owner == os.getpid():
            self._ended()

    def interrupt(self, *, kill: bool = False) -> None:
        """End the process in the middle of its work, while another thread waits for its answer.

        Args:
            kill: At once; else it can take away what it was writing.
        """
        process = self._process
        if process is not None:
            (process.kill if kill else process.terminate)()

    def _running(self) -> subprocess.Popen[bytes]:
        import subprocess

        if self._process is None or self._owner != os.getpid():
            # -P: a file in the folder that we stand in is not taken for a module. A group of its own: Control-C
            # is for the parent, and the child ends when the parent's end of the pipe does.
            command = [sys.executable, "-P", "-m", self.module, str(self.megabytes * MEGABYTE)]
            pipe = subprocess.PIPE
            group = None if sys.platform == "win32" else 0
            self._process = subprocess.Popen(
                command, stdin=pipe, stdout=pipe, stderr=self._said, process_group=group
            )
            self._owner = os.getpid()
        return self._process

    def _ended(self) -> int:
        process, self._process = self._process, None
        if process is None:
            return 0
        import subprocess

        with suppress(OSError):  # nobody may be there to read the rest of a request
            cast("IO[bytes]", process.stdin).close()  # the end of its requests is the end of its work
        try:
            gone = process.wait(_GRACE)
        except subprocess.TimeoutExpired:
            process.kill()
            gone = process.wait()
        cast("IO[bytes]", process.stdout).close()
        return gone

    def _death(self, status: int, seconds: int, *, late: bool) -> ChildDiedError:
        import signal

        ended = f"signal {-status}" if status < 0 else f"status {status}"
        if self._said is not None:
            self._said.seek(0)
            lines = self._said.read().decode("utf-8", "replace").split("\n")
            last = next((line.strip() for line in reversed(lines) if line.strip()), "")
            ended += f": {last[:300]}" if last else ""
        if late or status == -getattr(signal, "SIGXCPU", 0):
            return ChildDiedError(f"took more than {seconds} seconds and was stopped", late=True, ended=ended)
        reason = f"needed more than {self.megabytes} MB of memory, or broke down"
        return ChildDiedError(reason, ended=ended)
