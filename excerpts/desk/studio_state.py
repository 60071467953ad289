"""What all pages of one desk share: the studio's folder, its players, the opened scores, the door to the files."""

from __future__ import annotations

import secrets
from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from threading import Lock
from typing import Final

from excerpts.desk.saves import Saves
from excerpts.desk.user_data import studio_folder
from excerpts.errors import InputError, WeekError
from excerpts.score.opened_scores import Scores
from excerpts.studio.find import Found, latest_files
from excerpts.system.cache import Store, cache_folder
from excerpts.system.studio_files import player_key, slug
from excerpts.weekfile.studio_folder import Studio, find_root
from excerpts.words import Words

_MOST_GIVEN: Final = 1_000
"""Files that can be fetched by a key at a time; the oldest keys go."""


class NotThereError(InputError):
    """There is no such player, week or page: the desk answers 404."""


@dataclass(frozen=True, slots=True)
class Player:
    """A player with the latest week file.

    Attributes:
        key: What names the player in addresses: the same at every start.
        name: The name; that of the file where the player cannot be told.
        week: The latest week file.
        start: Its first day; None where it cannot be told.
        before: The week file before it; None where there is none.
        fault: Why the week cannot be built, where that is known already.
        found: The week file, as the studio finds it.
    """

    key: str
    name: str
    week: Path
    start: date | None
    before: Path | None
    fault: str
    found: Found


class StudioState:
    """One studio, as long as a desk is open on it. Several threads may use it.

    Args:
        folder: The folder that the desk was opened on.

    Attributes:
        folder: That folder.
        scores: Opens scores and keeps them open.
        store: The cache of what was built.
        saves: The door to the files.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self.root = find_root(self.folder).root
        self.scores = Scores()
        self.store = Store(cache_folder())
        self.saves = Saves(self.root, studio_folder(self.root))
        self.saves.undo_list.trim()
        self.saves.as_opened.drop_old()
        self._given: OrderedDict[str, tuple[Path, str]] = OrderedDict()
        self._lock = Lock()

    @property
    def studio(self) -> Studio:
        """The studio and its settings, read anew.

        Raises:
            WeekError: The studio file has faults.
        """
        return find_root(self.folder)

    @property
    def words(self) -> Words:
        """The words of the desk's pages: those of the studio; UK English where its file has faults."""
        try:
            return Words(self.studio.settings.words)
        except WeekError:
            return Words()

    def players(self) -> list[Player]:
        """All players by name, then the files whose player cannot be told; nothing for an empty folder."""
        try:
            latest = latest_files(self.folder, self.store)
        except WeekError:
            if not self.folder.is_dir():
                raise
            return []
        return [self._player(one) for one in latest]

    def player(self, key: str) -> Player:
        """The player of a key.

        Raises:
            NotThereError: There is none.
        """
        for one in self.players():
            if one.key == key:
                return one
        raise NotThereError("there is no such player in this studio.")

    def give(self, path: Path, kind: str = "application/pdf") -> str:
        """A key by which a file of the studio can be fetched from the desk at `/file/KEY`, as long as it runs.

        Args:
            path: The file.
            kind: Its media type.

        Raises:
            NotThereError: It lies outside the studio.
        """
        real = path.resolve()
        if not real.is_relative_to(self.root):
            raise NotThereError("the file lies outside the studio.")
        with self._lock:
            for key, given in self._given.items():
                if given == (real, kind):
                    self._given.move_to_end(key)
                    return key
            key = secrets.token_urlsafe(16)
            self._given[key] = (real, kind)
            while len(self._given) > _MOST_GIVEN:
                self._given.popitem(last=False)
            return key

    def given(self, key: str) -> tuple[Path, str]:
        """The file of a key, and its media type.

        Raises:
            NotThereError: The desk gave no such key, or the file leads out of the studio by now.
        """
        with self._lock:
            path, kind = self._given.get(key, (None, ""))
        if path is None or not path.resolve().is_relative_to(self.root):
            raise NotThereError("there is no such file.")
        return path, kind

    def _player(self, file: Found) -> Player:
        name = file.player or file.path.name
        # A file without a player is named by its path; nobody's name looks like one with its mark before it.
        whose = player_key(file.player) if file.player else f"\0{file.path.relative_to(self.folder)}"
        key = f"{slug(name)[:40].strip('-') or 'player'}-{sha256(whose.encode()).hexdigest()[:8]}"
        return Player(key, name, file.path, file.start, file.before, file.fault, file)
