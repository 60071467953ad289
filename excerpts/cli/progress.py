"""`excerpts progress`: the tempo reached in every box, week by week."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from excerpts.system.output import check_output, write_whole

SUFFIXES: Final = (".svg", ".pdf")
_FILE: Final[Any] = typer.Argument(help="The latest week file (TOML).", show_default=False)


def progress(
    week: Annotated[Path, _FILE],
    output: Annotated[
        Path | None,
        typer.Option(
            "-o", "--output", help=f"{' or '.join(SUFFIXES)}; without it, a table.", show_default=False
        ),
    ] = None,
    file: Annotated[
        Path | None, typer.Option("--log", help="The log; default: beside the week file.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite an existing file.")] = False,
) -> None:
    """Show the tempo reached in every box over the weeks: a table, or drawn."""
    from excerpts.log import log_path, read_log
    from excerpts.teacher import progress as make
    from excerpts.teacher import progress_lines, progress_svg
    from excerpts.week import load_week
    from excerpts.words import Words

    loaded = load_week(week)
    if output is not None:
        check_output(output, SUFFIXES, force=force)
    book = read_log(file or log_path(loaded), loaded.player.name)
    words = Words(loaded.player.words)
    made = make(loaded, book.rows, words)
    for fault in book.faults:
        print(f"excerpts: {fault}", file=sys.stderr)  # noqa: T201
    if output is None:
        for line in progress_lines(made, words):
            typer.echo(line)
        return
    title = words("teacher.progress.title", player=loaded.player.name)
    if output.suffix.lower() == ".svg":
        write_whole(output, progress_svg(made, words, title))
    else:
        from excerpts.teacher.document import progress_pdf

        write_whole(output, progress_pdf(made, title, words, loaded.paper))
    typer.echo(str(output))
