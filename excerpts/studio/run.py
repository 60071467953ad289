"""Builds a studio: what has changed, in processes side by side; what has not, not at all."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal, TypeAlias

from excerpts.studio.builders import Builders, Halt, HaltedError
from excerpts.studio.find import Found, latest_files
from excerpts.studio.print_days import DayFile, Made, by_day, write_day
from excerpts.studio.store import BuildIndex
from excerpts.studio.version import fingerprint
from excerpts.system.cache import Store
from excerpts.system.lock import GaveUpError, held
from excerpts.system.studio_files import slug, workbook_names, workbook_path
from excerpts.weekfile.whose import file_bytes

State: TypeAlias = Literal["made", "unchanged", "failed"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one week file.

    Attributes:
        week: The week file.
        state: Whether its workbook was made, was there as it is to be, or could not be made.
        target: The workbook; None where not even its name is known.
        pages: How many pages it has.
        warnings: What the teacher should know.
        told: What was left out of it, or is worth another look.
        why: Why it could not be made.
    """

    week: Path
    state: State
    target: Path | None = None
    pages: int = 0
    warnings: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Summary:
    """What became of a studio.

    Attributes:
        outcomes: One for each player, by name, and for each file whose player cannot be told.
        days: The print files.
        trouble: Why the cache could not be used; empty when it could.
    """

    outcomes: tuple[Outcome, ...]
    days: tuple[DayFile, ...]
    trouble: str = ""

    @property
    def failed(self) -> bool:
        """Whether anything failed."""
        return any(one.state == "failed" for one in self.outcomes) or any(day.fault for day in self.days)


@dataclass(frozen=True, slots=True)
class Progress:
    """Whom to tell how far it is.

    Attributes:
        begun: Told how many workbooks there are to build, once.
        done: Told each file that is through.
        waiting: Told when another process is building the same studio.
        step: Told what is being done for a week file ("box", 3, 5), in other threads; see `box_pages.Tell`.
    """

    begun: Callable[[int], None] = lambda _count: None
    done: Callable[[Outcome], None] = lambda _outcome: None
    waiting: Callable[[], None] = lambda: None
    step: Callable[[Path, str, int, int], None] = lambda _week, _what, _number, _of: None


def build_studio(
    folder: Path,
    *,
    jobs: int | None = None,
    force: bool = False,
    new: bool = False,
    cache: Path | None = None,
    progress: Progress = Progress(),
    only: Collection[Path] = (),
    halt: Halt | None = None,
) -> Summary:
    """Build the workbook of the latest week file of every player below a folder, and a print file for each day.

    Args:
        folder: The folder.
        jobs: Workbooks at a time; as many as there are cores where it is left out.
        force: Write over files of the user's.
        new: Leave out music that an earlier workbook of the player holds.
        cache: Folder of the cache; None for none.
        progress: Whom to tell how far it is.
        only: Build these week files alone, and no print file; all where it is empty.
        halt: Ends the build: what is made by then is there, and nothing is half-written.

    Raises:
        HaltedError: It was ended.
        WeekError: The folder is not there, or holds no week file.
    """
    store = Store(cache)
    weeks = [one for one in latest_files(folder, store) if not only or one.path in only]
    version = fingerprint()
    halt = halt or Halt()
    with _alone(folder, store, progress.waiting, halt):
        index = BuildIndex(store, version)
        options = {"force": force, "new": new}
        outcomes, made = _workbooks(weeks, index, jobs or cores(), options, progress, halt)
        of_days = {} if only else by_day(made)
        days = [write_day(folder, day, of_day, index, force) for day, of_day in of_days.items()]
        if store.stored:
            store.prune()
    return Summary(tuple(outcomes), tuple(days), store.trouble)


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _workbooks(
    weeks: Sequence[Found],
    index: BuildIndex,
    jobs: int,
    options: dict[str, bool],
    progress: Progress,
    halt: Halt,
) -> tuple[list[Outcome], list[Made]]:
    """Build what has changed. Outcomes are in the order of the weeks."""
    outcomes: dict[int, Outcome] = {}
    made: dict[int, Made] = {}
    changed: list[tuple[int, Path]] = []
    targets: set[Path] = set()
    for place, week in enumerate(weeks):
        if week.fault:
            outcomes[place] = Outcome(week.path, "failed", why=week.fault)
            continue
        target, facts = as_built(week, index, options) or (_target(week, targets), None)
        targets.add(target)
        if facts:
            outcomes[place] = _outcome(week, "unchanged", target, facts, index)
            made[place] = Made.of(target, facts)
        else:
            changed.append((place, target))
    progress.begun(len(changed))
    changed.sort(key=lambda one: _size(weeks[one[0]].path), reverse=True)

    def news(number: int, said: tuple[str, int, int]) -> None:
        progress.step(weeks[changed[number][0]].path, *said)

    with Builders(jobs, news=news) as builders, halt.by(builders.halt):
        orders = [_order(weeks[place], target, index, options) for place, target in changed]
        for number, answer in builders.run(orders):
            place, target = changed[number]
            week = weeks[place]
            state: State = "failed" if "failed" in answer else "made"
            outcomes[place] = _outcome(week, state, target, answer, index)
            if state == "made":
                made[place] = Made.of(target, answer)
                index.keep(target, *_sources(week, options), facts=answer)
            index.store.trouble = index.store.trouble or answer.get("trouble", "")
            index.store.stored += 1
            progress.done(outcomes[place])
    return [outcomes[place] for place in sorted(outcomes)], [made[place] for place in sorted(made)]


def _sources(week: Found, options: Mapping[str, bool]) -> tuple[str, ...]:
    """What a workbook is made from, as names: its week file, how it is made, and the workbooks it could name."""
    return (str(week.path.resolve()), *(["new", *_earlier_names(week)] if options["new"] else []))


def _earlier_names(week: Found) -> list[str]:
    """The names of the player's earlier workbooks beside a week file: one that appears makes the week anew."""
    names = []
    for path in week.path.parent.glob(f"{slug(week.player)}-*.pdf"):
        with suppress(ValueError):
            day = date.fromisoformat(path.stem[-10:])
            if (week.start is None or day < week.start) and path.name in workbook_names(week.player, day):
                names.append(path.name)
    return sorted(names)


def as_built(
    week: Found, index: BuildIndex, options: Mapping[str, bool]
) -> tuple[Path, dict[str, Any]] | None:
    """What was built from a week file, under either of its names, if it is as it is to be; and what is known of it."""
    for name in workbook_names(week.player, week.start) if week.start is not None else ():
        target = week.path.with_name(name)
        if facts := index.unchanged(target, *_sources(week, options)):
            return target, facts
    return None


def _target(week: Found, taken: set[Path]) -> Path:
    """The workbook of a week file; of a file that does not say whose it is, a name that is never written."""
    if week.start is None:
        return week.path.with_suffix(".pdf")
    return workbook_path(week.path.parent, week.player, week.start, taken)


def _order(week: Found, target: Path, index: BuildIndex, options: dict[str, bool]) -> dict[str, Any]:
    store = index.store
    return {
        "week": str(week.path),
        "target": None if week.start is None else str(target),
        "cache": str(store.folder) if store.folder and not store.trouble else None,
        "version": index.version,
        **options,
    }


def _outcome(week: Found, state: State, target: Path, facts: dict[str, Any], index: BuildIndex) -> Outcome:
    path = week.path
    if state == "failed":
        why = facts["failed"]
        return Outcome(path, state, why=why if path.name in why else f"{path}: {why}")
    warnings = (*facts["warnings"], *_load(week, facts["words"], index))
    return Outcome(path, state, target, facts["pages"], warnings, tuple(facts["told"]))


def _load(week: Found, words: str, index: BuildIndex) -> list[str]:
    """What to say of minutes that rise too fast; apart, as no PDF is made from the week before."""
    texts = [sha256(file_bytes(path) or b"").hexdigest() for path in (week.path, week.before) if path]
    key = sha256(json.dumps([index.version, words, *texts]).encode()).hexdigest()
    known = index.store.get("load", key)
    if known is None:
        from excerpts.week.load import load_of_files
        from excerpts.words import Words

        known = json.dumps(load_of_files(week.path, week.before, Words(words))).encode()
        index.store.put("load", key, known)
    sentences: list[str] = json.loads(known)
    return sentences


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0  # building it tells that it is gone


@contextmanager
def _alone(folder: Path, store: Store, waiting: Callable[[], None], halt: Halt) -> Iterator[None]:
    """Build while nobody else builds the same studio; where the system knows no locks, beside one another.

    Two builds side by side would do no harm, as every file is moved into its place whole, only everything twice.
    """
    name = sha256(str(folder.resolve()).encode()).hexdigest()
    try:
        if store.folder is None:
            raise OSError
        place = store.folder / "locks"
        place.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = os.open(place / name, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError:
        yield
        return
    try:
        with held(handle, waiting, lambda: halt.wanted):
            yield
    except GaveUpError:
        raise HaltedError from None
    finally:
        os.close(handle)
