"""Workbooks as files: what they are called, and what each says of itself: whose, of which week, with what music."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Final

from excerpts.errors import OutputError
from excerpts.system.player_files import file_names, own_file, same_player

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
