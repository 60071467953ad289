"""A store of opened scores that can live long and be used by several threads."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path
from threading import Lock
from typing import Final

from excerpts.score.opening import open_score
from excerpts.score.score import Score

MOST: Final = 20
"""Scores that a store keeps open: a studio's pieces of a week; a symphony takes some ten megabytes."""

_State = tuple[int, int, int]
"""When a file was written (nanoseconds), its size (bytes) and its inode."""


class _Entry:
    """One file: whoever opens it holds its lock, so that others wait for this file alone."""

    def __init__(self) -> None:
        self.lock = Lock()
        self.state: _State | None = None
        self.score: Score | None = None

    def opened(self, path: Path) -> Score:
        with self.lock:
            state = _state(path)
            if self.score is None or state is None or state != self.state:
                self.score, self.state = None, state
                self.score = open_score(path)
            return self.score


class Scores:
    """Opens scores, and keeps those that were used last.

    A file that was written anew is read anew. Scores are not changed by those who use them, so that several threads
    may have the same one.

    Args:
        most: Scores that are kept.
    """

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._lock = Lock()
        self._entries: OrderedDict[Path, _Entry] = OrderedDict()

    def __call__(self, path: Path) -> Score:
        """The score in a file.

        Raises:
            ScoreError: The file cannot be read, or holds no score.
        """
        with self._lock:
            entry = self._entries.setdefault(path, _Entry())
            self._entries.move_to_end(path)
            while len(self._entries) > self._most:
                self._entries.popitem(last=False)
        return entry.opened(path)


def _state(path: Path) -> _State | None:
    """What tells that a file was written anew; None for a file that cannot be reached."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino
