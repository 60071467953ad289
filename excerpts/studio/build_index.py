"""What was built before: whether a workbook is still what its files say, without loading any of them."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from excerpts.studio.digests import Digests
from excerpts.studio.store import Store

KIND: Final = "built"


@dataclass(frozen=True, slots=True)
class Made:
    """A workbook that stands on the disk.

    Attributes:
        week: Its week file.
        target: The workbook.
        read: Digest of every file it was made from, by path; empty for a file that must not be there.
        pdf: Digest of the workbook.
        pages: How many pages it has.
        warnings: What the teacher should know.
        told: What was left out of it, or is worth another look.
        player: The player's name.
        day: Day of the lesson, as "2026-12-01".
        time: Time of the lesson, as "16:30"; empty where none is said.
    """

    week: str
    target: str
    read: dict[str, str]
    pdf: str
    pages: int
    warnings: tuple[str, ...]
    told: tuple[str, ...]
    player: str
    day: str
    time: str


class Kept:
    """Remembers what was built.

    Args:
        store: The cache.
        version: Programs and faces that a workbook depends on.
        digests: Digests of files.
    """

    def __init__(self, store: Store, version: str, digests: Digests) -> None:
        self.store = store
        self.version = version
        self.digests = digests

    def unchanged(self, week: Path, target: Path) -> Made | None:
        """What was built from a week file, if every file it was made from and the workbook itself are as they were."""
        data = self.store.get(KIND, self._key(week, target))
        if data is None:
            return None
        told: dict[str, Any] = json.loads(data)
        made = Made(**(told | {key: tuple(told[key]) for key in ("warnings", "told")}))
        if any(self.digests(Path(path)) != digest for path, digest in made.read.items()):
            return None
        return made if self.digests(target) == made.pdf else None

    def keep(self, made: Made) -> None:
        """Remember a workbook that was built just now."""
        data = json.dumps(asdict(made)).encode()
        self.store.put(KIND, self._key(Path(made.week), Path(made.target)), data)

    def _key(self, week: Path, target: Path) -> str:
        facts = [self.version, str(week.resolve()), str(target.resolve())]
        return sha256(json.dumps(facts).encode()).hexdigest()
