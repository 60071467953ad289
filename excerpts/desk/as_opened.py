"""Files as they were each time they were opened to be worked on, kept for two weeks."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Final

from excerpts.system.output import write_whole

KEPT: Final = timedelta(days=14)
"""How long they are kept."""

_STAMP: Final = "%Y%m%dT%H%M%S%fZ"


@dataclass(frozen=True, slots=True)
class Opened:
    """A file as it was once.

    Attributes:
        key: What names it among all that are kept.
        name: The file, from the studio's folder.
        when: When it was opened.
    """

    key: str
    name: str
    when: datetime


class AsOpened:
    """The files of one studio as they were.

    Args:
        folder: Where they are kept.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def keep(self, name: str, data: bytes) -> None:
        """Keep a file as it is now, unless it is as it was kept last.

        Raises:
            OutputError: It cannot be kept.
        """
        place = self._folder / sha256(name.encode()).hexdigest()[:16]
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not (place / "name").exists():
            write_whole(place / "name", json.dumps(name).encode())
        kept = sorted(place.glob("*.was"))
        if kept and kept[-1].read_bytes() == data:
            return
        write_whole(place / f"{datetime.now(UTC).strftime(_STAMP)}.was", data)

    def all_kept(self) -> list[Opened]:
        """Everything that is kept, the newest first."""
        kept = []
        for path in self._folder.glob("*/*.was"):
            try:
                name = json.loads((path.parent / "name").read_bytes())
                when = datetime.strptime(path.stem, _STAMP).replace(tzinfo=UTC)
            except (OSError, ValueError):
                continue  # no file of ours, or deleted meanwhile
            kept.append(Opened(f"{path.parent.name}-{path.stem}", name, when))
        return sorted(kept, key=lambda one: one.when, reverse=True)

    def data_of(self, key: str) -> bytes | None:
        """What a file held; None where nothing of that key is kept."""
        if key not in {one.key for one in self.all_kept()}:
            return None
        place, _, stem = key.partition("-")
        try:
            return (self._folder / place / f"{stem}.was").read_bytes()
        except OSError:
            return None

    def drop_old(self) -> None:
        """Delete what was kept long enough."""
        first = (datetime.now(UTC) - KEPT).strftime(_STAMP)
        for path in self._folder.glob("*/*.was"):
            if path.stem < first:
                path.unlink(missing_ok=True)
