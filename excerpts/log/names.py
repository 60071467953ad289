"""Where a player's log is, and what its boxes and pieces are called in a line."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from excerpts.log.shape import LogError
from excerpts.week import BoxItem, Week
from excerpts.week.carried import RetiredBox
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
            hint="Put the log itself there, or name it by --log.",
        )
    return path


def numbered(week: Week, box_id: str) -> int:
    """The number of a box as the pages print it; 0 for one that is not in work."""
    ids = [box.id for box in week.boxes]
    return ids.index(box_id) + 1 if box_id in ids else 0


def place_text(week: Week, box: BoxItem, words: Words) -> str:
    """Where a box is: "Gale Concerto I, bars C+7–C+8"."""
    titles = {piece.id: piece.title for piece in week.pieces}
    bars = bars_text(box.bars, words) if box.bars else box.place or ""
    return ", ".join(part for part in (titles.get(box.piece or "", ""), bars) if part)


def bars_text(bars: str, words: Words) -> str:
    """Bars in the player's words: "bar 12", "bars 12–16"; a text that has the word already stays as it is."""
    if re.match(r"(bars?|measures?)\b", bars, re.IGNORECASE):
        return bars
    if re.fullmatch(r"\w+", bars):
        return words("bar.one", label=bars)
    return words("plan.bars", bars=bars.replace("-", "–"))


def box_text(week: Week, box: BoxItem, words: Words) -> str:
    """A box in a line: "box 2, Gale Concerto I, bars C+7–C+8", or by its id where it is not in work."""
    where = place_text(week, box, words)
    number = numbered(week, box.id)
    if isinstance(box, RetiredBox) or not number:
        return words("log.not_in_work", id=box.id, where=where) if where else box.id
    return words("plan.box", number=number, where=where) if where else words("plan.box_alone", number=number)
