"""Holds a file for one writer at a time, on every system that Python runs on."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

if sys.platform == "win32":  # pragma: no cover (the tests run on Linux)
    import msvcrt
    import os

    _FAR = 1 << 30
    """A byte far behind the text is locked there: what is locked can be read by nobody."""

    @contextmanager
    def held(handle: int) -> Iterator[None]:
        """Wait until nobody else holds the open file, then hold it."""
        os.lseek(handle, _FAR, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
        try:
            yield
        finally:
            os.lseek(handle, _FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    @contextmanager
    def held(handle: int) -> Iterator[None]:
        """Wait until nobody else holds the open file, then hold it."""
        fcntl.flock(handle, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(handle, fcntl.LOCK_UN)
