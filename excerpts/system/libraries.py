"""Loads WeasyPrint without what it does not use: a search through the compiler, tools for fonts that are not ours."""

from __future__ import annotations

import ctypes.util
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import import_module
from types import ModuleType
from typing import Any, Final

_SELDOM_USED: Final = ("fontTools.subset", "fontTools.varLib.instancer")
"""What WeasyPrint uses for variable fonts, and where HarfBuzz's subsetter is not there: 0.06 s of a build, 8 MB."""


@contextmanager
def straight_from_the_system() -> Iterator[None]:
    """Let WeasyPrint be imported in here: 0.2 seconds of a build, wherever a compiler is installed.

    It tries each of its libraries under names of other systems first, and for each name that is no file
    Python's `ctypes.util.find_library` runs `ldconfig`, then `gcc` and `ld`. On Linux it also tries the file name
    itself ("libpango-1.0.so.0"), which the system's loader finds at once; so nothing is looked up meanwhile.
    """
    usual = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = _nothing
    later = [name for name in _SELDOM_USED if name not in sys.modules]
    sys.modules.update({name: _LoadedLater(name) for name in later})
    try:
        yield
    finally:
        ctypes.util.find_library = usual
        for name in later:
            del sys.modules[name]


class _LoadedLater(ModuleType):
    """Stands for a module whose functions and classes are called only; it is loaded at the first call."""

    def __getattr__(self, name: str) -> Callable[..., Any]:
        if name.startswith("__"):
            raise AttributeError(name)
        return lambda *args, **options: getattr(import_module(self.__name__), name)(*args, **options)


def _nothing(name: str) -> str | None:
    return None
