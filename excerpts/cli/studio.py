"""`excerpts studio`: the workbooks of all players, built side by side, and only where something has changed."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, StudioFolder, pages, warn

if TYPE_CHECKING:
    from excerpts.studio import Summary
    from excerpts.studio.run import Progress


def studio(
    folder: StudioFolder,
    jobs: Annotated[
        int | None,
        Arg("--jobs", low=1, high=64, help="Workbooks built at a time; default: one for each core."),
    ] = None,
    new: Annotated[
        bool, Arg("--new", help="Name the page of an earlier workbook instead of printing its music again.")
    ] = False,
    player_pages: Annotated[
        Path | None,
        Arg("--pages", help="Also build the pages of players with page = true, into this folder."),
    ] = None,
    force: Force = False,
) -> int:
    """Build the latest week of every player below a folder, and one file to print for each teaching day."""
    from excerpts.studio import build_studio
    from excerpts.system.cache import cache_folder

    with _bar() as progress:
        summary = build_studio(
            folder, jobs=jobs, force=force, new=new, cache=cache_folder(), progress=progress
        )
    _report(summary)
    failed = player_pages is not None and _pages(folder, player_pages, jobs, force)
    return 2 if summary.failed or failed else 0


def _pages(folder: Path, target: Path, jobs: int | None, force: bool) -> bool:
    """Build the players' pages and say which; whether any failed."""
    from excerpts.studio.run import cores
    from excerpts.studio.week_pages import build_pages
    from excerpts.system.cache import cache_folder

    made = build_pages(folder, target, jobs=jobs or cores(), force=force, cache=cache_folder())
    for one in made:
        if one.state != "failed":
            print(f"{one.state:<10} {one.target}")
    warn(
        *(
            f"failed: {one.why if one.week.name in one.why else f'{one.week}: {one.why}'}"
            for one in made
            if one.why
        )
    )
    if not made:
        warn("no week asks for a page: page = true in its [player] does.")
    return any(one.state == "failed" for one in made)


@contextmanager
def _bar() -> Iterator[Progress]:
    """A bar on the terminal that fills as the workbooks are done; nothing where the output goes elsewhere."""
    from excerpts.studio.run import Progress

    if not sys.stderr.isatty():
        yield Progress(waiting=_say_waiting)
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("workbooks", total=None)
        yield Progress(
            begun=lambda count: bar.update(task, total=count),
            done=lambda outcome: bar.update(task, advance=1, description=outcome.week.stem[:30]),
            waiting=_say_waiting,
        )


def _say_waiting() -> None:
    warn("another process is building this studio; waiting for it.")


def _named(week: Path, line: str) -> str:
    """A line about a week file with the file's path, once."""
    return f"{week}{line.removeprefix(week.name)}" if line.startswith(week.name) else f"{week}: {line}"


def _report(summary: Summary) -> None:
    """Files that are there on the output; what failed, and what the teacher should know, beside it."""
    for one in summary.outcomes:
        if one.state != "failed":
            print(f"{one.state:<10} {one.target}  ({pages(one.pages)})")
        warn(*(_named(one.week, line) for line in (*one.told, *one.warnings)))
    for day in summary.days:
        if not day.fault:
            state = "unchanged" if day.unchanged else "made"
            print(f"{state:<10} {day.path}  ({pages(day.pages)}: {', '.join(day.players)})")
    whys = [one.why for one in summary.outcomes if one.state == "failed"]
    whys += [day.fault for day in summary.days if day.fault]
    warn(*(f"failed: {why}" for why in whys))
    if summary.trouble:
        warn(f"{summary.trouble} Everything will be built again next time.")
    count = Counter(one.state for one in summary.outcomes)
    states = [f"{count[state]} {state}" for state in ("made", "unchanged", "failed")]
    remarked = sum(bool(one.told) for one in summary.outcomes)
    if remarked:
        states.append(f"{remarked} with something left out or worth another look")
    print(", ".join(states))
