"""Loads what needs libraries of the system without asking the compiler where they are."""

from __future__ import annotations

import ctypes.util
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def straight_from_the_system() -> Iterator[None]:
    """Let WeasyPrint be imported in here: 0.2 seconds of a build, wherever a compiler is installed.

    It tries each of its libraries under names of other systems first, and for each name that is no file
    Python's `ctypes.util.find_library` runs `ldconfig`, then `gcc` and `ld`. On Linux it also tries the file name
    itself ("libpango-1.0.so.0"), which the system's loader finds at once; so nothing is looked up meanwhile.
    """
    if sys.platform != "linux":
        yield
        return
    usual = ctypes.util.find_library
    ctypes.util.find_library = _nothing
    try:
        yield
    finally:
        ctypes.util.find_library = usual


def _nothing(name: str) -> str | None:
    return None
