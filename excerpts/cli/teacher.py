"""`excerpts lesson`, `board` and `notes`: the teacher's own pages."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from excerpts.cli.command import Arg
from excerpts.cli.options import Force, LogFile, PdfFile, StudioFolder, WeekFile, WordsName, day, warn
from excerpts.system.output import check_output, write_whole


def lesson(
    week: WeekFile,
    output: PdfFile,
    log: LogFile = None,
    force: Force = False,
) -> None:
    """Print a lesson sheet: the focus, boxes and tempi reached, what broke down, room for the next boxes."""
    from excerpts.log import log_path, read_log
    from excerpts.teacher.document import lesson_pdf
    from excerpts.teacher.lesson_sheet import lesson_sheet
    from excerpts.week import load_week
    from excerpts.words import Words

    loaded = load_week(week)
    check_output(output, (".pdf",), force=force)
    book = read_log(log or log_path(loaded), loaded.player.name)
    words = Words(loaded.player.words)
    write_whole(output, lesson_pdf(lesson_sheet(loaded, book, words), words, loaded.paper))
    warn(*book.faults)
    print(output)


def board(
    folder: StudioFolder,
    output: PdfFile,
    today: Annotated[
        str | None, Arg("--today", help="A day: performances before it and weeks after it do not count.")
    ] = None,
    force: Force = False,
) -> int:
    """Print the board of a studio, from every player's latest week: dates, stuck boxes, who has not practised."""
    from excerpts.teacher.board import board as make
    from excerpts.teacher.document import board_pdf
    from excerpts.teacher.players import latest_weeks
    from excerpts.teacher.standing_sheet import read_states
    from excerpts.weekfile.studio_folder import find_root
    from excerpts.words import Words

    first = day(today, "--today") or date.min
    players = latest_weeks(folder)
    check_output(output, (".pdf",), force=force)
    settings = find_root(folder).settings
    words = Words(settings.words)
    read = read_states(players.weeks)
    faults = [*players.faults, *read.faults]
    write_whole(output, board_pdf(make(read.states, words, faults, first), words, settings.paper))
    warn(*faults)
    print(f"{output}  ({len(read.states)} players)")
    return 2 if players.faults else 0


def notes(
    output: PdfFile,
    words: WordsName = None,
    paper: Annotated[
        str | None,
        Arg("--paper", choices=("a4", "letter"), help="a4 or letter; default: a4, letter with --words us."),
    ] = None,
    force: Force = False,
) -> None:
    """Print the notes for teachers: the rules behind a week, the studies, the cautions."""
    from excerpts.teacher.document import notes_pdf
    from excerpts.words import Words

    check_output(output, (".pdf",), force=force)
    size: Any = paper or ("letter" if words == "us" else "a4")
    write_whole(output, notes_pdf(Words(words or "uk"), size))
    print(output)
