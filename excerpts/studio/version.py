"""What every cached thing depends on besides the user's files: this program, its templates and every library."""

from __future__ import annotations

import ctypes
import re
import sys
from functools import lru_cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, requires, version
from pathlib import Path
from typing import Final

from excerpts.system.resources import templates

_OWN: Final = "excerpts"
_SYSTEM: Final = {
    "pango_version_string": (
        "libpango-1.0.so.0", "libpango-1.0-0.dll", "libpango-1.0-0", "libpango-1.0.dylib", "pango-1.0",
    ),
    "hb_version_string": (
        "libharfbuzz.so.0", "libharfbuzz-0.dll", "libharfbuzz-0", "libharfbuzz.0.dylib", "harfbuzz",
    ),
}  # fmt: skip
"""Libraries that lay out text and are no Python packages: the function that tells the version, and their names."""


@lru_cache(maxsize=1)
def fingerprint() -> str:
    """SHA-256 of the versions of Python and of every library, of our own code, and of all templates and faces."""
    seen = sha256()
    for line in (sys.version, *_packages(), *_libraries()):
        seen.update(line.encode() + b"\n")
    package = Path(__file__).resolve().parent.parent
    for folder, pattern in ((package, "*.py"), (templates(), "*")):
        for path in sorted(folder.rglob(pattern)):
            if path.is_file():
                name = path.relative_to(folder).as_posix()
                seen.update(name.encode() + b"\0" + sha256(path.read_bytes()).digest())
    return seen.hexdigest()


def _packages() -> list[str]:
    """Name and version of each installed package that this one needs, and of those that they need."""
    versions: dict[str, str] = {}
    wanted = [_OWN]
    while wanted:
        name = wanted.pop()
        if name in versions:
            continue
        try:
            versions[name] = version(name)
        except PackageNotFoundError:
            versions[name] = "not there"  # needed on other systems, or by an extra, only
            continue
        for line in requires(name) or ():
            match = re.match(r"[A-Za-z0-9._-]+", line)
            if match and "extra ==" not in line:
                wanted.append(match.group().lower())
    return [f"{name} {versions[name]}" for name in sorted(versions)]


def _libraries() -> list[str]:
    return [f"{function} {_told(function, names)}" for function, names in _SYSTEM.items()]


def _told(function: str, names: tuple[str, ...]) -> str:
    """The version that a library tells itself; the page maker is asked where it is found by another name only."""
    for name in names:
        try:
            library = ctypes.CDLL(name)
        except OSError:
            continue
        tell = getattr(library, function)
        tell.restype = ctypes.c_char_p
        return str(tell().decode())
    from weasyprint.text.ffi import pango

    return f"unnamed, {pango.pango_version()}"
