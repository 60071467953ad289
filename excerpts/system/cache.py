"""The cache: bytes by the SHA-256 of everything that they are made from, and what was built before.

Each entry is a file of its own that begins with the digest of what follows. It is written beside its place and moved
there, so that it is whole or not there; one that the disk or a crash has harmed is seen by its digest and not used.
All of it can be deleted at any time, also while a build runs.

It stands in the user's cache folder and not in the studio, for two reasons: studios lie in folders that are copied
between computers, which should not carry it about; and a studio that comes by mail must not bring drawings of its own.
"""

from __future__ import annotations

import os
import sys
from hashlib import sha256
from pathlib import Path
from typing import Final

MOST_BYTES: Final = 512_000_000
"""Size from which on the entries that were not used for longest are deleted."""

_DIGEST: Final = 32
_PART: Final = ".part"


def cache_folder() -> Path | None:
    """Where the cache is: the cache folder of the user by the conventions of the system; None where there is none.

    Linux: XDG Base Directory Specification 0.8, `$XDG_CACHE_HOME`, else `~/.cache`.
    """
    try:
        home = Path.home()
    except RuntimeError:
        return None
    given = os.environ.get("XDG_CACHE_HOME", "")
    if given and Path(given).is_absolute():  # the specification: a path that is not absolute is to be ignored
        base = Path(given)
    elif sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        base = home / ".cache"
    return base / "excerpts"


class Store:
    """Entries by kind and key.

    Args:
        folder: Folder of the cache; None for none: nothing is found and nothing is kept.

    Attributes:
        trouble: Why nothing can be kept, once that has turned out; building goes on without.
        stored: How many entries were written.
    """

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder
        self.trouble = ""
        self.stored = 0

    def get(self, kind: str, key: str) -> bytes | None:
        """What was kept; None when it is not there, or not whole."""
        if self.folder is None:
            return None
        path = self._path(kind, key)
        try:
            data = path.read_bytes()
        except OSError:
            return None  # it is made anew, and if it cannot be kept, `put` tells
        payload = data[_DIGEST:]
        if sha256(payload).digest() != data[:_DIGEST]:
            return None
        return payload

    def put(self, kind: str, key: str, payload: bytes) -> None:
        """Keep something; where that cannot be, the reason is remembered and nothing is kept from then on."""
        if self.folder is None or self.trouble:
            return
        path = self._path(kind, key)
        part = path.with_name(f".{key}.{os.getpid()}{_PART}")
        try:
            try:
                part.write_bytes(sha256(payload).digest() + payload)
            except FileNotFoundError:
                path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
                part.write_bytes(sha256(payload).digest() + payload)
            os.replace(part, path)
            self.stored += 1
        except OSError as error:
            self.trouble = f"the cache {self.folder} cannot be written ({error.strerror})."
            _drop(part)

    def prune(self, most: int = MOST_BYTES) -> None:
        """Delete what killed builds have left half-written, and the oldest entries of a cache that is too large.

        The clock only decides which entries go first, so that a clock that jumps costs time and harms nothing.

        Args:
            most: Bytes that it may hold.
        """
        if self.folder is None:
            return
        entries: list[tuple[float, int, Path]] = []
        # `walk` passes over a folder that somebody deletes meanwhile; `rglob` would stop with an error.
        paths = [Path(folder, name) for folder, _, names in os.walk(self.folder) for name in names]
        for path in paths:
            if path.name.endswith(_PART):
                _drop(path)
                continue
            try:
                facts = path.stat()
            except OSError:
                continue  # somebody else has deleted it
            entries.append((facts.st_mtime, facts.st_size, path))
        total = sum(size for _, size, _ in entries)
        for _, size, path in sorted(entries) if total > most else []:
            if total <= most * 3 // 4:
                break
            _drop(path)
            total -= size

    def _path(self, kind: str, key: str) -> Path:
        assert self.folder is not None
        return self.folder / kind / key[:2] / key


def _drop(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return  # it costs room and does no harm
