"""The players' pages of a studio: of those whose week asks for one, in a folder, made where something has changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal

from excerpts.player_page.owner import page_owner
from excerpts.studio.builders import Builders
from excerpts.studio.find import Found, latest_files
from excerpts.studio.store import BuildIndex
from excerpts.studio.version import fingerprint
from excerpts.system.cache import Store
from excerpts.system.studio_files import own_file
from excerpts.weekfile.read_week import read_week

_WORKER: Final = "excerpts.studio.page_worker"


@dataclass(frozen=True, slots=True)
class PageFile:
    """What became of one player's page.

    Attributes:
        week: The week file.
        target: The page.
        state: Whether it was made, was there as it is to be, or could not be made.
        why: Why it could not be made.
    """

    week: Path
    target: Path
    state: Literal["made", "unchanged", "failed"]
    why: str = ""


def build_pages(
    folder: Path, pages: Path, *, jobs: int, force: bool = False, cache: Path | None = None
) -> tuple[PageFile, ...]:
    """Build the page of every player below a folder whose latest week has `page = true`.

    Args:
        folder: The folder of the studio.
        pages: The folder for the pages; made if it is not there.
        jobs: Pages at a time.
        force: Write over files of the user's.
        cache: Folder of the cache; None for none.

    Raises:
        WeekError: The folder is not there, or holds no week file.
        OSError: The folder for the pages cannot be made.
    """
    store = Store(cache)
    index = BuildIndex(store, fingerprint())
    weeks = [week for week in latest_files(folder, store) if _asked(week)]
    if not weeks:
        return ()
    pages.mkdir(exist_ok=True)
    return tuple(_built(weeks, pages.resolve(), index, jobs, force))


def _asked(week: Found) -> bool:
    """Whether a week asks for a page; of one that cannot be read the workbook tells what is wrong."""
    if week.fault or week.start is None:
        return False
    content = read_week(week.path).content
    return content is not None and content.player.page


def _built(
    weeks: Sequence[Found], pages: Path, index: BuildIndex, jobs: int, force: bool
) -> Iterator[PageFile]:
    changed: list[tuple[Found, Path]] = []
    taken: set[Path] = set()
    for week in weeks:
        target = own_file(pages, week.player, f"-{week.start}.html", page_owner, taken)
        taken.add(target)
        if index.unchanged(target, *_sources(week)):
            yield PageFile(week.path, target, "unchanged")
        else:
            changed.append((week, target))
    with Builders(jobs, _WORKER) as builders:
        for number, answer in builders.run([_order(*one, index, force) for one in changed]):
            week, target = changed[number]
            if "failed" in answer:
                yield PageFile(week.path, target, "failed", why=answer["failed"])
                continue
            index.keep(target, *_sources(week), facts=answer)
            yield PageFile(week.path, target, "made")


def _sources(week: Found) -> tuple[str, ...]:
    return (str(week.path.resolve()), "page")


def _order(week: Found, target: Path, index: BuildIndex, force: bool) -> dict[str, Any]:
    store = index.store
    return {
        "week": str(week.path),
        "target": str(target),
        "cache": str(store.folder) if store.folder and not store.trouble else None,
        "version": index.version,
        "force": force,
    }
