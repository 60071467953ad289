"""A process that builds workbooks of a studio, one after another; one that takes it down harms no other."""

from __future__ import annotations

import gc
import json
import signal
import sys
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from types import FrameType
from typing import Any, Final

from excerpts.errors import ExcerptsError, InputError, WeekError, file_of
from excerpts.score.opened_scores import Scores
from excerpts.studio.disk_render_cache import DiskRenderCache
from excerpts.studio.store import Digests
from excerpts.system.cache import Store
from excerpts.system.child.serve import serve, tell
from excerpts.system.output import check_output, write_whole
from excerpts.system.studio_files import STUDIO_FILE, WorkbookFacts
from excerpts.week import Week, resolve
from excerpts.weekfile.days import lesson_at
from excerpts.weekfile.faults import WeekFaultsError
from excerpts.weekfile.model import WeekFile
from excerpts.weekfile.read_week import WeekReading, read_week
from excerpts.weekfile.studio_folder import PAGES, Studio
from excerpts.workbook import build_workbook
from excerpts.workbook.already_printed import earlier_workbooks

SCORES: Final = Scores()
"""The scores that this process has open: players of one section share them."""


def build(
    path: Path, target: Path | None, cache: str | None, version: str, force: bool, new: bool = False
) -> dict[str, Any]:
    """Build a workbook and write it.

    Args:
        path: The week file.
        target: The file to write; None where it could not be told whose week it is: loading it tells why.
        cache: Folder of the cache; None for none.
        version: What drawings depend on besides the music.
        force: Write over a file of the user's.
        new: Leave out music that an earlier workbook of the player holds.

    Returns:
        What the studio remembers of it: digests of everything it was made from, of itself, pages, warnings, lesson.

    Raises:
        ExcerptsError: The week cannot be built or written.
    """
    if target is None:
        resolve(read_week(path), SCORES)
        raise WeekError("the file changed just now. Build the studio again.", where=str(path))
    check_output(target, (".pdf",), force=force)
    # What changes from here on has another digest than what was read, and so is built again the next time.
    read = inputs(read_week(path))
    week = resolve(read_week(path), SCORES)
    store = Store(Path(cache) if cache else None)
    earlier = _earlier(week) if new else {}
    read |= {str(pdf): Digests()(pdf) for pdf in earlier}
    memory = DiskRenderCache(store, version)
    built = build_workbook(week, memory=memory, earlier=tuple(earlier.values()), tell=tell_step)
    write_whole(target, built.pdf)
    if week.week.sound:
        tell_step("sounds", 0, 0)
    sounds, unplayed = _sounds(week, target, store, version, force)
    day, time = lesson_at(week.player.lesson, week.week.start)
    return {
        "read": read,
        "pdf": sha256(built.pdf).hexdigest(),
        "pages": built.pages,
        "sounds": sounds,
        "warnings": [*built.warnings, *unplayed],
        "told": [str(fault) for fault in built.told],
        "player": week.player.name,
        "words": week.player.words,
        "day": day.isoformat(),
        "time": time,
        "trouble": store.trouble,
    }


def tell_step(what: str, number: int, of: int) -> None:
    """Tell the parent what is being done."""
    tell(json.dumps([what, number, of]).encode())


def _earlier(week: Week) -> dict[Path, WorkbookFacts]:
    """The earlier workbooks of a player by their files; a player's first week has none, and prints everything."""
    try:
        return earlier_workbooks(week)
    except WeekError:
        return {}


def _sounds(
    week: Week, target: Path, store: Store, version: str, force: bool
) -> tuple[dict[str, str], list[str]]:
    """Write the sound files of a week that asks for them; nothing for sound is loaded for any other."""
    if not week.week.sound:
        return {}, []
    from excerpts.studio.week_sounds import write_sounds

    try:
        return write_sounds(week, target, store, version, force)
    except InputError as error:
        return {}, [f"no sound files: {error}"]  # the workbook is there


def inputs(reading: WeekReading) -> dict[str, str]:
    """Every file that decides what the workbook of a week looks like, with its digest.

    Args:
        reading: The week file as it was read.

    Returns:
        Digests by absolute path; an empty one for a file that is not there and would be taken if it were.

    Raises:
        WeekFaultsError: The week file has faults.
    """
    if reading.content is None or reading.faults:
        raise WeekFaultsError(reading.faults)
    digests = Digests()
    return {str(path): digests(path) for path in dict.fromkeys(_paths(reading, reading.content))}


def _paths(reading: WeekReading, week: WeekFile) -> Iterator[Path]:
    folder = reading.path.resolve().parent
    yield reading.path.resolve()
    for candidate in (folder, *folder.parents):
        yield candidate / STUDIO_FILE
        if (candidate / STUDIO_FILE).is_file():
            break
    names = [(name, "file", folder) for name in week.include]
    names += [(week.scales, "file", folder)] if week.scales else []
    for document in reading.sources.documents:
        yield document.file
        pieces = document.raw.get("piece", ())
        names += [
            (str(piece["score"]), "score", document.file.parent) for piece in pieces if "score" in piece
        ]
    names += [(piece.score, "score", folder) for piece in week.pieces if piece.score]
    names += [(piece.pages, PAGES, folder) for piece in week.pieces if piece.pages]
    for pages in reading.page_paths.values():
        yield pages
        yield from sorted(pages.iterdir()) if pages.is_dir() else ()
    for name, what, base in names:
        yield from _looked_at(name, base, reading.studio, what)
    yield from reading.score_paths.values()


def _looked_at(name: str, folder: Path, studio: Studio, what: str) -> Iterator[Path]:
    """The places where a file is looked for, up to the one where it is."""
    second = studio.root / studio.settings.scores if what in {"score", PAGES} else studio.root
    for place in (folder / name, second / name):
        yield place
        if place.exists():
            return


def answered(parts: list[bytes], do: Callable[[dict[str, Any]], dict[str, Any]]) -> list[bytes]:
    """The answer to an order: what is remembered of what was built, or why it failed.

    Args:
        parts: The order, as JSON.
        do: Does it.
    """
    gc.collect()  # not all the time, but between two orders
    order = json.loads(parts[0])
    try:
        facts = do(order)
    except ExcerptsError as error:
        facts = {"failed": str(error)}
    except OSError as error:
        what = f"this computer could not read or write {file_of(error)} ({error.strerror})."
        facts = {"failed": f"{order['week']}: {what}"}
    except MemoryError:
        facts = {"failed": f"{order['week']}: there is not enough memory for it."}
    except Exception as error:
        what = f"something went wrong in the program itself: {type(error).__name__}: {error}."
        facts = {"failed": f"{order['week']}: {what} (excerpts --debug workbook shows where.)"}
    return [json.dumps(facts).encode()]


def _build(order: dict[str, Any]) -> dict[str, Any]:
    target = Path(order["target"]) if order["target"] else None
    return build(Path(order["week"]), target, order["cache"], order["version"], order["force"], order["new"])


def _end(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(143)


def serve_orders(do: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Serve orders until there are no more; for a process of its own."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who started it ends it
    signal.signal(signal.SIGTERM, _end)
    gc.disable()
    serve(lambda parts: answered(parts, do), sys.argv[1:])


if __name__ == "__main__":
    serve_orders(_build)
