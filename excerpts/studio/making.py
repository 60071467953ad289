"""Builds one workbook of a studio, in a process of its own."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.score.opened_scores import Scores
from excerpts.studio.disk_render_cache import DiskRenderCache
from excerpts.studio.inputs import inputs
from excerpts.studio.store import Store
from excerpts.system.output import check_output, write_whole
from excerpts.week import resolve
from excerpts.weekfile.days import lesson_at
from excerpts.weekfile.read_week import read_week
from excerpts.workbook import build_workbook

_SCORES: Final = Scores()
"""The scores that this process has open: players of one section share them."""


def make(path: Path, target: Path | None, cache: str | None, version: str, force: bool) -> dict[str, Any]:
    """Build a workbook and write it.

    Args:
        path: The week file.
        target: The file to write; None where it could not be told whose week it is: loading it tells why.
        cache: Folder of the cache; None for none.
        version: What drawings depend on besides the music.
        force: Write over a file of the user's.

    Returns:
        What the studio remembers of it: digests of everything it was made from, of itself, pages, warnings, lesson.

    Raises:
        ExcerptsError: The week cannot be built or written.
    """
    if target is None:
        resolve(read_week(path), _SCORES)
        raise WeekError("the file changed just now. Build the studio again.", where=str(path))
    check_output(target, (".pdf",), force=force)
    # What changes from here on has another digest than what was read, and so is built again the next time.
    read = inputs(read_week(path))
    week = resolve(read_week(path), _SCORES)
    store = Store(Path(cache) if cache else None)
    built = build_workbook(week, memory=DiskRenderCache(store, version))
    write_whole(target, built.pdf)
    day, time = lesson_at(week.player.lesson, week.week.start)
    return {
        "read": read,
        "pdf": sha256(built.pdf).hexdigest(),
        "pages": built.pages,
        "warnings": list(built.warnings),
        "told": [str(fault) for fault in built.told],
        "player": week.player.name,
        "day": day.isoformat(),
        "time": time,
        "trouble": store.trouble,
    }
