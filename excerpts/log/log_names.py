"""Where a player's log is, and what its boxes and pieces are called in a line."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from excerpts.log.read_log import log_owner
from excerpts.log.shape import LogError
from excerpts.system.studio_files import file_names, own_file
from excerpts.week import Week
from excerpts.week.bars_in_words import box_name
from excerpts.weekfile.items import BoxItem, RetiredBox
from excerpts.words import Words

LOG_ENDING: Final = "-log.csv"


def log_path(week: Week) -> Path:
    """The player's log: beside the week file, named by the player; with a digest where another's log has that name.

    Raises:
        LogError: It is a link that leads out of the studio, where nothing is read or written.
    """
    path = own_file(week.path.parent, week.player.name, LOG_ENDING, log_owner)
    if path.is_symlink() and not path.resolve().is_relative_to(week.studio.root.resolve()):
        raise LogError(
            "this link leads out of the studio's folder.",
            where=str(path),
            hint="Put the log itself there, or name it with --log.",
        )
    return path


def another_has_the_name(week: Week, path: Path) -> str:
    """A sentence where a new log gets a name with a digest: the teacher may have changed the name of one player."""
    short = path.with_name(file_names(week.player.name, LOG_ENDING)[0])
    if path.exists() or path == short or (owner := log_owner(short)) is None:
        return ""
    return (
        f"{short.name} is the log of {owner}; that of {week.player.name} is {path.name}, and has no rows yet. "
        "If they are one player, write the name as it was."
    )


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
