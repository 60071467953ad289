"""Files of a studio: its week files, the names of each player's own files, and workbooks, which say whose they are.

No two players' files can have one name.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Final

from excerpts.errors import OutputError, WeekError

STUDIO_FILE: Final = "studio.toml"
"""The settings of a studio; no week."""

MOST_FILES: Final = 20_000
"""Text files below one folder: a large studio over many years."""


def files_below(folder: Path) -> list[Path]:
    """The .toml files in a folder and below it, in order, without the settings and what lies in dot-folders.

    Raises:
        WeekError: There are more than MOST_FILES.
    """
    files = []
    for path in folder.rglob("*.toml"):
        inside = path.relative_to(folder).parts
        if path.name != STUDIO_FILE and path.is_file() and not any(part.startswith(".") for part in inside):
            files.append(path)
        if len(files) > MOST_FILES:
            raise WeekError(f"there are more than {MOST_FILES} files below it.", where=str(folder))
    return sorted(files)


_LONGEST: Final = 200
"""Bytes of a name in a file name: the ending and a digest have room beside it wherever a file name has 255."""

_DIGEST: Final = 6
"""Characters of a digest in a file name: of a million players of one short name, two would share it."""


def slug(name: str) -> str:
    """A name for files and ids: "Mila Fenn" is "mila-fenn"; letters that are not Latin stay where none are."""
    composed = unicodedata.normalize("NFKD", name)
    latin = composed.encode("ascii", "ignore").decode()
    if not re.search(r"[A-Za-z0-9]", latin):
        latin = unicodedata.normalize("NFC", name)
    return re.sub(r"[\W_]+", "-", latin).strip("-").lower()


def player_key(name: str) -> str:
    """A player's name as it is compared: without regard to capitals, spaces, and how its accents are stored."""
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def same_player(one: str, other: str) -> bool:
    """Whether two names are those of one player: "Zoë" and "zoë" are, "Zoë" and "Zoe" are not."""
    return player_key(one) == player_key(other)


def file_names(player: str, ending: str) -> tuple[str, str]:
    """The names that a file of a player may have: the short one, and one with a digest of the full name.

    Args:
        player: The player's name.
        ending: The rest of the file name: "-log.csv", "-2026-11-30.pdf".
    """
    digest = sha256(player_key(player).encode()).hexdigest()[:_DIGEST]
    name = slug(player).encode()[:_LONGEST].decode("utf-8", "ignore") or "player"
    return f"{name}{ending}", f"{name}-{digest}{ending}"


def own_file(
    folder: Path,
    player: str,
    ending: str,
    owner: Callable[[Path], str | None],
    taken: Collection[Path] = (),
) -> Path:
    """Where a file of a player is, or is to be: under the short name, unless another player's file has it.

    Args:
        folder: Its folder.
        player: The player's name.
        ending: The rest of the file name.
        owner: Whose a file is; None where it does not say so, and is taken for the player's own.
        taken: Files that are about to be written for others.
    """
    short, full = (folder / name for name in file_names(player, ending))
    if full.exists() or short in taken:
        return full
    whose = owner(short) if short.is_file() else None
    return short if whose is None or same_player(whose, player) else full


PLAYER: Final = "Player"
WEEK: Final = "Week"
MUSIC: Final = "Music"


@dataclass(frozen=True, slots=True)
class WorkbookFacts:
    """What a workbook's PDF says of itself.

    Attributes:
        player: The player's name.
        week: First day of the week.
        music: The page on which it prints the music of each digest.
    """

    player: str
    week: date
    music: Mapping[str, int] = field(default_factory=dict)

    def entries(self) -> dict[str, str]:
        """The entries of the PDF's information dictionary (ISO 32000-2, 14.3.3, which allows own ones)."""
        return {PLAYER: self.player, WEEK: self.week.isoformat(), MUSIC: json.dumps(dict(self.music))}


def read_facts(path: Path) -> WorkbookFacts | None:
    """What a PDF says of itself; None for a file that is no workbook, or one of a time when they did not say it."""
    import pikepdf

    try:
        with pikepdf.open(path) as pdf:
            said = {name: str(pdf.docinfo.get(f"/{name}", "")) for name in (PLAYER, WEEK, MUSIC)}
        if not said[PLAYER]:
            return None
        music = json.loads(said[MUSIC] or "{}")
        pages = {str(digest): int(page) for digest, page in music.items()}
        return WorkbookFacts(said[PLAYER], date.fromisoformat(said[WEEK]), pages)
    except (OSError, ValueError, TypeError, AttributeError, pikepdf.PdfError):
        return None


def workbook_path(folder: Path, player: str, start: date, taken: Collection[Path] = ()) -> Path:
    """Where a workbook is, or goes: "mila-2026-11-30.pdf", with a digest where another player's has that name.

    Args:
        folder: Its folder.
        player: The player's name.
        start: First day of the week.
        taken: Files that are about to be written for other players.
    """
    return own_file(folder, player, _ending(start), _owner, taken)


def workbook_names(player: str, start: date) -> tuple[str, str]:
    """The names that a workbook may have: the short one, and one with a digest of the full name."""
    return file_names(player, _ending(start))


def refuse_anothers(path: Path, player: str) -> None:
    """See that the workbook of another player is not written over.

    Raises:
        OutputError: The file is one.
    """
    owner = _owner(path) if path.is_file() else None
    if owner is not None and not same_player(owner, player):
        raise OutputError(
            f"this is the workbook of {owner}, not of {player}.",
            where=str(path),
            hint="Choose another name, or add --force to overwrite it.",
        )


def _ending(start: date) -> str:
    return f"-{start.isoformat()}.pdf"


def _owner(path: Path) -> str | None:
    facts = read_facts(path)
    return facts.player if facts else None
