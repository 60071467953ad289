"""`excerpts next`: the file of the week after, out of the week and what was written down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, LogFile, day, log_of, warn, writes
from excerpts.errors import InputError, OutputError
from excerpts.system.output import check_output, write_whole

if TYPE_CHECKING:
    from excerpts.log import NextWeek
    from excerpts.log.offers import Way


def next_week(
    week: Annotated[Path, Arg(help="The file of the week that has ended (TOML).", there=True)],
    output: Annotated[Path | None, writes([".toml"], "default: beside it")] = None,
    start: Annotated[
        str | None, Arg("--start", help="First day: 2026-12-07; default: the day of the next lesson.")
    ] = None,
    until: Annotated[
        str | None,
        Arg("--until", help="Last day: 2026-12-13; default: as long as the last week, or seven days."),
    ] = None,
    focus: Annotated[str | None, Arg("--focus", help="The focus of the new week.")] = None,
    change: Annotated[
        list[str] | None,
        Arg("--change", help="ID=shorten, variant, simplify, park or resume; may be repeated."),
    ] = None,
    log: LogFile = None,
    force: Force = False,
) -> None:
    """Write the next week's file, and say line by line what was changed and why."""
    from excerpts.log import next_week as make
    from excerpts.log.choices import Choices
    from excerpts.week import load_week

    loaded = load_week(week)
    if output is not None:
        check_output(output, (".toml",), force=force)
    _, book = log_of(loaded, log)
    book.refuse_unread()
    made = make(
        loaded,
        book.rows,
        target=output,
        start=day(start, "--start"),
        until=day(until, "--until"),
        choices=Choices(focus, _ways(change or [])),
    )
    warn(*book.faults)
    _write(made, week, force)


def _write(made: NextWeek, old: Path, force: bool) -> None:
    if made.path.resolve() == old.resolve():
        raise OutputError(
            "this is the week that has ended; the new one needs a file of its own.", where=str(old)
        )
    check_output(made.path, (".toml",), force=force)
    write_whole(made.path, made.text.encode("utf-8"))
    for line in made.carried.lines:
        print(line)
    print(made.path)


def _ways(changes: list[str]) -> dict[str, Way]:
    from excerpts.log.offers import WAYS
    from excerpts.weekfile.faults import nearest

    ways: dict[str, Way] = {}
    for change in changes:
        box, sign, way = (part.strip() for part in change.partition("="))
        if not sign or not box:
            raise InputError(f'--change "{change}" is not ID=WAY.', hint="For instance: --change run=shorten")
        if way not in WAYS:
            raise InputError(
                f'"{way}" is not a way to change a box.',
                hint=nearest(way, WAYS, f"There are: {', '.join(WAYS)}."),
            )
        if box in ways:
            raise InputError(f'The box "{box}" has two changes.', hint="Choose one.")
        ways[box] = cast("Way", way)
    return ways
