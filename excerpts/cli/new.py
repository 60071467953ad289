"""`excerpts new`: a first week file from answers, or a studio's week files from a table."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from excerpts.cli.command import Arg
from excerpts.cli.options import warn
from excerpts.errors import InputError, OutputError
from excerpts.system.output import check_output, make_folder, write_whole

if TYPE_CHECKING:
    from excerpts.score import Part
    from excerpts.weekfile.new import NewFile


def new(
    folder: Annotated[Path, Arg(help="Folder of the week files; made if it is not there.")],
    table: Annotated[
        Path | None, Arg("--from", help="A table (CSV) with one row per box, for any number of players.")
    ] = None,
    force: Annotated[bool, Arg("--force", help="Overwrite a week file of that name.")] = False,
) -> None:
    """Write a first week file from your answers to a few questions, or from a table of boxes."""
    if folder.exists() and not folder.is_dir():
        raise OutputError("this is a file, not a folder.", where=str(folder))
    if table is None:
        _asked(folder, force=force)
    else:
        _from_table(table, folder)


def _asked(folder: Path, *, force: bool) -> None:
    from excerpts.weekfile.asking import Answers
    from excerpts.weekfile.new import ask_week, week_path, week_text
    from excerpts.weekfile.studio_folder import find_root

    print("A few questions, then the week file is written. < goes one question back.")
    print("Control-C stops, and nothing is written.")
    raw = ask_week(Answers(_ask, print), folder, find_root(folder / "week.toml"), _offered)
    path = week_path(folder, raw["player"]["name"], raw["week"]["start"])
    make_folder(folder)
    check_output(path, (".toml",), force=force)
    write_whole(path, week_text(raw).encode())
    boxes = len(raw.get("box", ()))
    print(f"{path}  ({boxes} box{'' if boxes == 1 else 'es'}). Next: excerpts plan, excerpts workbook.")


def _offered(part: Part, player: Mapping[str, Any]) -> list[str]:
    from excerpts.teacher.hard_bars import offered  # which loads numpy

    return offered(part, player)


def _ask(question: str) -> str:
    print(question, end="", flush=True)
    line = sys.stdin.readline()
    if not line:
        print()
        raise InputError("The answers ended before the week was complete.", hint="Nothing was written.")
    return line.rstrip("\n")


def _from_table(table: Path, folder: Path) -> None:
    from excerpts.week.orders.check import check_reading
    from excerpts.weekfile.new import from_table

    files = from_table(table, folder, lambda reading: check_reading(reading).faults)
    make_folder(folder)
    warn(*(f"{table.name}, {note}" for file in files for note in file.notes))
    for file in files:
        check_output(file.path, (".toml",), force=file.was_there)
    for file in files:
        if file.changes or not file.was_there:
            write_whole(file.path, file.text.encode())
        print(_told(file))


def _told(file: NewFile) -> str:
    if not file.was_there:
        boxes = sum(change.startswith("box ") for change in file.changes)
        return f"{file.path}  (written, {boxes} box{'' if boxes == 1 else 'es'})"
    if not file.changes:
        return f"{file.path}  (as it was)"
    return "\n".join([f"{file.path}  (brought up to date)", *(f"  {change}" for change in file.changes)])
