"""What a studio built before, and from what: entries of the cache."""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from excerpts.system.cache import Store

KIND: Final = "built"


class Digests:
    """SHA-256 of files, each file read once: players share scores."""

    def __init__(self) -> None:
        self._known: dict[Path, str] = {}

    def __call__(self, path: Path) -> str:
        """The digest of a file, or of the names in a folder; empty when there is none that can be read."""
        if path not in self._known:
            try:
                names = sorted(entry.name for entry in path.iterdir()) if path.is_dir() else None
                data = "\n".join(names).encode() if names is not None else path.read_bytes()
                self._known[path] = sha256(data).hexdigest()
            except OSError:
                self._known[path] = ""
        return self._known[path]


class BuildIndex:
    """Remembers what was built: workbooks and print files.

    Args:
        store: The cache.
        version: Programs and faces that everything depends on.
    """

    def __init__(self, store: Store, version: str) -> None:
        self.store = store
        self.version = version
        self._digests = Digests()

    def unchanged(self, target: Path, *sources: str) -> dict[str, Any] | None:
        """What is known of a file, if it and every file that it was made from are as they were.

        Args:
            target: The file.
            sources: What it is made from, as `keep` was told.
        """
        data = self.store.get(KIND, self._key(target, sources))
        if data is None:
            return None
        facts: dict[str, Any] = json.loads(data)
        files = facts["read"] | facts.get("sounds", {})
        if any(self._digests(Path(path)) != digest for path, digest in files.items()):
            return None
        return facts if self._digests(target) == facts["pdf"] else None

    def keep(self, target: Path, *sources: str, facts: dict[str, Any]) -> None:
        """Remember a file that was built just now.

        Args:
            target: The file.
            sources: What it is made from, as names.
            facts: What is to be known of it; among it "pdf", its digest, and "read", digests of files by path;
                in "sounds" those of files that were built with it.
        """
        self.store.put(KIND, self._key(target, sources), json.dumps(facts).encode())

    def _key(self, target: Path, sources: tuple[str, ...]) -> str:
        return sha256(json.dumps([self.version, str(target.resolve()), *sources]).encode()).hexdigest()
