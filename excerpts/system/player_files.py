"""Files of one player: their names, which no other player's files can have, and whether two names are one player's."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection
from hashlib import sha256
from pathlib import Path
from typing import Final

_DIGEST: Final = 6
"""Characters of a digest in a file name: of a million players of one short name, two would share it."""


def slug(name: str) -> str:
    """A player's name for a file name: "Mila Fenn" is "mila-fenn"; letters that are not Latin stay where none are."""
    composed = unicodedata.normalize("NFKD", name)
    latin = composed.encode("ascii", "ignore").decode()
    if not re.search(r"[A-Za-z0-9]", latin):
        latin = unicodedata.normalize("NFC", name)
    return re.sub(r"[\W_]+", "-", latin).strip("-").lower() or "player"


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
    return f"{slug(player)}{ending}", f"{slug(player)}-{digest}{ending}"


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
