"""`excerpts lesson`, `board` and `notes`: the teacher's own pages."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from excerpts.cli.look import WORDS_OPTION, chosen
from excerpts.system.output import check_output, write_whole
from excerpts.words import choices

if TYPE_CHECKING:
    from collections.abc import Sequence

_FILE: Final[Any] = typer.Argument(help="A week file (TOML).", show_default=False)
_LOG: Final[Any] = typer.Option("--log", help="The log; default: beside the week file.")
_FORCE: Final[Any] = typer.Option("--force", help="Overwrite an existing file.")
_OUTPUT: Final[Any] = typer.Option("-o", "--output", help="The PDF to write.", show_default=False)


def lesson(
    week: Annotated[Path, _FILE],
    output: Annotated[Path, _OUTPUT],
    file: Annotated[Path | None, _LOG] = None,
    force: Annotated[bool, _FORCE] = False,
) -> None:
    """Print a lesson sheet: focus, boxes and what was reached, what broke down, room for the next boxes."""
    from excerpts.log import log_path, read_log
    from excerpts.teacher import lesson_sheet
    from excerpts.teacher.document import lesson_pdf
    from excerpts.week import load_week
    from excerpts.words import Words

    loaded = load_week(week)
    check_output(output, (".pdf",), force=force)
    book = read_log(file or log_path(loaded), loaded.player.name)
    words = Words(loaded.player.words)
    write_whole(output, lesson_pdf(lesson_sheet(loaded, book, words), words, loaded.paper))
    _say(book.faults)
    typer.echo(str(output))


def board(
    folder: Annotated[Path, typer.Argument(help="Folder of a studio.", show_default=False)],
    output: Annotated[Path, _OUTPUT],
    force: Annotated[bool, _FORCE] = False,
) -> int:
    """Print the board of a studio: dates, stuck boxes, who has not practised; every player's latest week counts."""
    from excerpts.teacher import board as make
    from excerpts.teacher import latest_weeks, read_states
    from excerpts.teacher.document import board_pdf
    from excerpts.weekfile.studio import find_root
    from excerpts.words import Words

    players = latest_weeks(folder)
    check_output(output, (".pdf",), force=force)
    settings = find_root(folder).settings
    words = Words(settings.words)
    read = read_states(players.weeks)
    faults = [*players.faults, *read.faults]
    write_whole(output, board_pdf(make(read.states, words, faults), words, settings.paper))
    _say(faults)
    typer.echo(f"{output}  ({len(read.states)} players)")
    return 2 if players.faults else 0


def notes(
    output: Annotated[Path, _OUTPUT],
    words: Annotated[str | None, WORDS_OPTION] = None,
    paper: Annotated[
        str | None, typer.Option("--paper", help="a4 or letter.", show_default="a4; letter with --words us")
    ] = None,
    force: Annotated[bool, _FORCE] = False,
) -> None:
    """Print the notes for teachers: the rules that weeks are made by, the studies, the cautions."""
    from excerpts.teacher.document import notes_pdf
    from excerpts.words import Words

    check_output(output, (".pdf",), force=force)
    said = chosen(words or "uk", choices(), "--words")
    size: Any = chosen(paper or ("letter" if said == "us" else "a4"), ("a4", "letter"), "--paper")
    write_whole(output, notes_pdf(Words(said), size))
    typer.echo(str(output))


def _say(faults: Sequence[object]) -> None:
    for fault in faults:
        print(f"excerpts: {fault}", file=sys.stderr)  # noqa: T201
