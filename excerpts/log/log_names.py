"""Where a player's log is, and what its boxes and pieces are called in a line."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from excerpts.log.shape import LogError
from excerpts.week import Week
from excerpts.week.places import box_name
from excerpts.weekfile.items import BoxItem, RetiredBox
from excerpts.words import Words


def slug(name: str) -> str:
    """A player's name for a file name: "Mila Fenn" is "mila-fenn"; letters that are not Latin stay."""
    composed = unicodedata.normalize("NFKD", name)
    latin = composed.encode("ascii", "ignore").decode()
    if not re.search(r"[A-Za-z0-9]", latin):
        latin = unicodedata.normalize("NFC", name)
    return re.sub(r"[\W_]+", "-", latin).strip("-").lower() or "player"


def log_path(week: Week) -> Path:
    """The player's log: beside the week file, named by the player.

    Raises:
        LogError: It is a link that leads out of the studio, where nothing is read or written.
    """
    path = week.path.parent / f"{slug(week.player.name)}-log.csv"
    if path.is_symlink() and not path.resolve().is_relative_to(week.studio.root.resolve()):
        raise LogError(
            "this link leads out of the studio's folder.",
            where=str(path),
            hint="Put the log itself there, or name it with --log.",
        )
    return path


def numbered(week: Week, box_id: str) -> int:
    """The number of a box as the pages print it; 0 for one that is not in work."""
    ids = [box.id for box in week.boxes]
    return ids.index(box_id) + 1 if box_id in ids else 0


def box_text(week: Week, box: BoxItem, words: Words) -> str:
    """A box in a line: "box 2, Gale Concerto I, bars 41–42", or by its id where it is not in work."""
    where = box_name(week, box, words)
    number = numbered(week, box.id)
    if isinstance(box, RetiredBox) or not number:
        return words("log.not_in_work", id=box.id, where=where) if where else box.id
    return words("plan.box", number=number, where=where) if where else words("plan.box_alone", number=number)
