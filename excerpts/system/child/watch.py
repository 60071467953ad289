"""The parent's patience: a process that keeps it waiting for too long is killed.

One thread watches over all answers of a process. A `threading.Timer` would be a thread for each answer, which costs
several times what sending the question and receiving the answer do.
"""

from __future__ import annotations

from math import inf
from threading import Condition, Thread
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import subprocess


class Watch:
    """Watches over one process.

    Args:
        process: The process.

    Attributes:
        late: It was killed because an answer did not come in time.
    """

    def __init__(self, process: subprocess.Popen[bytes]) -> None:
        self.late = False
        self._process = process
        self._changed = Condition()
        self._due = inf
        self._looks = inf
        self._ended = False
        Thread(target=self._watch, daemon=True).start()

    def expect(self, seconds: float) -> None:
        """An answer must come within so many seconds."""
        with self._changed:
            self._due = monotonic() + seconds
            if self._due < self._looks:  # else the thread finds the new time when it next looks
                self._changed.notify()

    def rest(self) -> None:
        """The answer has come."""
        with self._changed:
            self._due = inf

    def end(self) -> None:
        """The process is gone."""
        with self._changed:
            self._ended = True
            self._changed.notify()

    def _watch(self) -> None:
        with self._changed:
            while not self._ended:
                left = self._due - monotonic()
                if left <= 0:
                    self.late = True
                    self._process.kill()
                    return
                self._looks = self._due
                self._changed.wait(None if left == inf else left)
