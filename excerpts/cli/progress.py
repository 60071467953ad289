"""`excerpts progress`: the tempo reached in every box, week by week."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

from excerpts.cli.options import Force, LogFile, WeekFile, warn, writes
from excerpts.system.output import check_output, write_whole

SUFFIXES: Final = (".svg", ".pdf")


def progress(
    week: WeekFile,
    output: Annotated[Path | None, writes(SUFFIXES, "without it, a table")] = None,
    log: LogFile = None,
    force: Force = False,
) -> None:
    """Show the tempo reached in every box over the weeks: a table, or drawn."""
    from excerpts.log import log_path, read_log
    from excerpts.teacher.chart import progress_lines, progress_svg
    from excerpts.teacher.tempos_reached import progress as make
    from excerpts.week import load_week
    from excerpts.words import Words

    loaded = load_week(week)
    if output is not None:
        check_output(output, SUFFIXES, force=force)
    book = read_log(log or log_path(loaded), loaded.player.name)
    words = Words(loaded.player.words)
    made = make(loaded, book.rows, words)
    warn(*book.faults)
    if output is None:
        for line in progress_lines(made, words):
            print(line)
        return
    title = words("teacher.progress.title", player=loaded.player.name)
    if output.suffix.lower() == ".svg":
        write_whole(output, progress_svg(made, words, title))
    else:
        from excerpts.teacher.document import progress_pdf

        write_whole(output, progress_pdf(made, title, words, loaded.paper))
    print(str(output))
