"""Holds a file for one process at a time, on every system that Python runs on."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

_LOOK: Final = 0.1
"""Seconds between two tries of somebody who may give up."""


class GaveUpError(Exception):
    """Whoever waited for a file does not want it any more."""


def _try_again(hold: Callable[[], bool], given_up: Callable[[], bool]) -> None:
    """Try to hold a file until it is held.

    Raises:
        GaveUpError: It is not wanted any more.
    """
    while not hold():
        if given_up():
            raise GaveUpError
        time.sleep(_LOOK)


if sys.platform == "win32":  # pragma: no cover (the tests run on Linux)
    import msvcrt
    import os

    _FAR = 1 << 30
    """A byte far behind the text is locked there: what is locked can be read by nobody."""

    @contextmanager
    def held(
        handle: int, busy: Callable[[], None] | None = None, given_up: Callable[[], bool] | None = None
    ) -> Iterator[None]:
        """Wait until nobody else holds the open file, then hold it; see below."""
        os.lseek(handle, _FAR, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            if busy:
                busy()
            if given_up:
                _try_again(lambda: _hold(handle), given_up)
            else:
                msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        try:
            yield
        finally:
            os.lseek(handle, _FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

    def _hold(handle: int) -> bool:
        os.lseek(handle, _FAR, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def try_hold(handle: int) -> bool:
        """Hold the open file until it is closed; False where another process holds it. See below."""
        there = _hold(handle)
        os.lseek(handle, 0, os.SEEK_SET)
        return there

else:
    import fcntl

    def try_hold(handle: int) -> bool:
        """Hold the open file until it is closed; False where another process holds it.

        Raises:
            OSError: The file system knows no locks.
        """
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    @contextmanager
    def held(
        handle: int, busy: Callable[[], None] | None = None, given_up: Callable[[], bool] | None = None
    ) -> Iterator[None]:
        """Wait until nobody else holds the open file, then hold it.

        Args:
            handle: The open file.
            busy: Called once when somebody else holds it, before waiting.
            given_up: Asked while it waits, whether it is not wanted any more.

        Raises:
            GaveUpError: It is not wanted any more.
            OSError: The file system knows no locks.
        """
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if busy:
                busy()
            if given_up:
                _try_again(lambda: try_hold(handle), given_up)
            else:
                fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(handle, fcntl.LOCK_UN)
