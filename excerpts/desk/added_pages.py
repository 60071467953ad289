"""Takes printed pages into the studio: a PDF or pictures that are dropped on a page, photos out of the inbox.

They are looked at before they are kept: what cannot be read, or has no staves, is refused in the words of the room that
reads them.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from excerpts.desk.added_score import check_name, store
from excerpts.desk.studio_state import StudioState
from excerpts.errors import InputError, PaperError
from excerpts.paper import PAGE_SUFFIXES, Pages, count, find_pages, inbox, look
from excerpts.system.studio_files import slug
from excerpts.weekfile.studio_folder import PAGES, find_root, find_score
from excerpts.words import capital

_LOOKED: Final = 8
"""Pages that are looked at for staves: a title page and a preface have none."""
_MOST_FILES: Final = 60
"""Photos that become one piece at a time."""


def is_pages(name: str) -> bool:
    """Whether a file may be printed pages, by its name; a photo that no library reads here is one, and is refused."""
    return Path(name).suffix.lower() in PAGE_SUFFIXES


def add_pages(state: StudioState, name: str, data: bytes, together: str = "") -> Path:
    """Write printed pages into the studio's folder of scores.

    Args:
        state: The studio.
        name: The name of the file.
        data: What it holds.
        together: What several pictures are called that are the pages of one piece: they go into a folder.

    Raises:
        PaperError: It cannot be read as pages, or has no staves; the message says what would be right.
        OutputError: The name cannot be used, or another file has it.
    """
    check_name(name)
    with TemporaryDirectory() as place:
        probe = Path(place) / name
        probe.write_bytes(data)
        _check(find_pages(probe))
    return store(state, name, data, slug(together)[:40].strip("-") if together else "")


def _check(pages: Pages) -> None:
    """Refuse pages that cannot be read, and those of which none has staves."""
    for number in range(1, min(count(pages), _LOOKED) + 1):
        seen = look(pages, number)
        if seen.systems:
            return
    if count(pages) <= _LOOKED:
        raise PaperError(seen.doubt, where=pages.path.name)


def inbox_names(week: Path) -> list[str]:
    """What lies in the inboxes beside a week file and of its studio, as the week file names it."""
    folder, root = week.parent, find_root(week).root
    own = inbox(folder)
    if root == folder.resolve():
        return own
    up = Path(os.path.relpath(root, folder.resolve())).as_posix()
    return own + [f"{up}/{name}" for name in inbox(root)]


def take_from_inbox(state: StudioState, week: Path, names: Sequence[str]) -> str:
    """Photos or a PDF in an inbox as pages of a piece: one where it lies, several copied into a folder.

    Returns:
        What the week file names as the pages.

    Raises:
        InputError: They are not in the inbox, or cannot be taken; the message says why.
    """
    there = inbox_names(week)
    if not names or len(names) > _MOST_FILES or not all(name in there for name in names):
        raise InputError("these files are not in the inbox any more.", hint="Load the page again.")
    paths = [find_score(name, week.parent, find_root(week), PAGES) for name in names]
    if len(paths) == 1:
        _check(find_pages(paths[0]))
        return names[0]
    for path in paths:
        find_pages(path)
        if path.suffix.lower() == ".pdf":
            raise InputError("a PDF is a piece of its own.", where=path.name, hint="Take it alone.")
    folder = paths[0].stem
    made = [add_pages(state, path.name, path.read_bytes(), folder) for path in paths]
    return made[0].parent.name


def piece_with_pages(pages: str) -> dict[str, str]:
    """The keys of a new piece for pages, as a week file names them; the title is that of the file."""
    title = Path(pages).stem.replace("-", " ").replace("_", " ")
    return {"title": capital(title), "pages": pages}
