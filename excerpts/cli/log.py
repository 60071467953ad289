"""`excerpts log`: what a player wrote down goes into the player's log."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from excerpts.cli.command import Arg
from excerpts.cli.options import LogFile, WeekFile, log_of, warn
from excerpts.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from excerpts.excerpt import Tempo
    from excerpts.log import Log, LogFault, LogRow
    from excerpts.week import Week
    from excerpts.weekfile.items import BoxItem
    from excerpts.words import Words


def log(
    week: WeekFile,
    enter: Annotated[bool, Arg("--enter", help="Ask, box by box, what the paper says.")] = False,
    box: Annotated[str | None, Arg("--box", help="Id of the box, or its number on the paper.")] = None,
    tempo: Annotated[str | None, Arg("--tempo", help='60, or "quaver = 76".')] = None,
    clean: Annotated[int | None, Arg("--clean", high=999, help="Clean runs in a row at that tempo.")] = None,
    heard: Annotated[
        str | None, Arg("--heard", help="Heard in the lesson: yes if it was clean, no if not.")
    ] = None,
    scale: Annotated[
        str | None,
        Arg("--scale", help='A scale of the list: "D", "G minor arpeggio"; with --heard.'),
    ] = None,
    run_through: Annotated[
        str | None, Arg("--run-through", help="Id of a piece that was played through.")
    ] = None,
    bars: Annotated[str, Arg("--bars", help="Where it broke down.")] = "",
    day: Annotated[
        str | None, Arg("--day", help="The day: tue, or 2026-12-01; on its own: practised on that day.")
    ] = None,
    note: Annotated[str, Arg("--note", help="What was noticed.")] = "",
    undo: Annotated[bool, Arg("--undo", help="Take back the last row; it stays in the file.")] = False,
    sent: Annotated[
        Path | None, Arg("--from", help="A file of rows that the player sent (CSV).", there=True)
    ] = None,
    yes: Annotated[bool, Arg("--yes", help="Answer yes to every question.")] = False,
    file: LogFile = None,
) -> None:
    """Write down what was played: --enter asks box by box; without options it shows this week's rows."""
    from excerpts.week import load_week

    loaded = load_week(week)
    path, book = log_of(loaded, file)
    given = (box, tempo, clean, heard, scale, run_through, bars or None, day, note or None)
    alone = {"--undo": undo, "--enter": enter, "--from": sent is not None}
    chosen = [option for option, wanted in alone.items() if wanted]
    if chosen and (len(chosen) > 1 or any(value is not None for value in given)):
        raise InputError(f"{chosen[0]} says everything itself; leave the other options out.")
    if undo:
        _undo(loaded, path, book)
    elif enter:
        _enter(loaded, path, book)
    elif sent is not None:
        _from(loaded, path, book, sent, yes=yes)
    elif any(value is not None for value in given):
        if scale is not None:
            if heard is None or any((box, tempo, clean, run_through, bars, day, note)):
                raise InputError("--scale goes with --heard yes or --heard no, and with nothing else.")
            row = _scale_row(loaded, scale, heard)
        else:
            row = _row(loaded, box, tempo, clean, heard, run_through, bars, day, note)
            if not yes:
                _believe(loaded, row)
        _append(loaded, path, [row], book)
    else:
        _show(loaded, book)


def _undo(week: Week, path: Path, book: Log) -> None:
    from excerpts.log import append_rows
    from excerpts.log.row import row_line, undo_row

    if not book.rows:
        raise InputError("there is no row to take back.", where=str(path))
    last, words = book.rows[-1], _words(week)
    faults = append_rows(path, [undo_row(last)], week.player.name, words)
    warn(*book.faults, *faults)
    print(words("log.undone", row=row_line(last, words).strip()))


def _row(
    week: Week,
    box: str | None,
    tempo: str | None,
    clean: int | None,
    heard: str | None,
    piece: str | None,
    bars: str,
    day: str | None,
    note: str,
) -> LogRow:
    from excerpts.log import LogRow
    from excerpts.log.answers import read_day

    start = week.week.start
    if box is not None and piece is not None:
        raise InputError("--box and --run-through are separate rows: write them one at a time.")
    try:
        date = read_day(day, week.week) if day is not None else None
        if box is not None:
            return _box_row(week, LogRow(start, date, bars=bars, note=note), box, tempo, clean, heard)
    except ValueError as error:
        raise InputError(str(error), where=week.path.name) from error
    if tempo is not None or clean is not None or heard is not None:
        raise InputError("--tempo, --clean and --heard need the box: --box ID.")
    if piece is not None:
        _known(piece, [item.id for item in week.pieces], "piece")
        return LogRow(start, date, "run-through", piece, bars=bars, note=note)
    if date is None or bars:
        raise InputError("Say what it is about: --box ID, --run-through PIECE, or the --day of practice.")
    return LogRow(start, date, "day", note=note)


def _believe(week: Week, row: LogRow) -> None:
    """Ask about what can hardly be right.

    Raises:
        InputError: It was not said to be right.
    """
    from excerpts.log.doubts import row_doubts

    words = _words(week)
    for doubt in row_doubts(week, row, words):
        if not _sure(f"{doubt} {words('log.doubt')} ", words):
            raise InputError(f"{doubt} Nothing was written.", hint="If it is right, add --yes.")


def _sure(question: str, words: Words) -> bool:
    """Whether the answer is yes; no answer is none."""
    try:
        return _ask(question).strip().lower() in ("y", "yes", *words("log.yes").split())
    except EOFError:
        return False


def _from(week: Week, path: Path, book: Log, sent: Path, *, yes: bool) -> None:
    """Show what a file of rows would add, and add it when somebody says so."""
    from excerpts.log import commit, preview
    from excerpts.log.read_log import log_bytes
    from excerpts.log.row import row_line

    words, data = _words(week), log_bytes(sent)
    made = preview(data, sent.name, week, book)
    warn(*book.faults, *made.faults)
    print(words("log.sent", file=sent.name, known=made.known, new=len(made.fresh) + len(made.asked)))
    for row in made.fresh:
        print(f"  {row_line(row, words).strip()}")
    agreed = []
    for row, question in made.asked:
        print(f"  {row_line(row, words).strip()}")
        if yes or _sure(f"    {question} {words('log.doubt')} ", words):
            agreed.append(row)
    if not (made.fresh or agreed):
        _written(words, 0, path)
    elif yes or _sure(words("log.sent_add"), words):
        _written(words, len(commit(data, sent.name, week, path, agreed)), path)
    else:
        raise InputError("Nothing was written.", hint="To add the rows, answer yes, or add --yes.")


def _scale_row(week: Week, scale: str, heard: str) -> LogRow:
    from excerpts.log import LogRow
    from excerpts.week.added_warmups import listed_names
    from excerpts.weekfile.scale_list import find_scale

    names = listed_names(week)
    if not names:
        raise InputError("the week has no list of scales.", hint='scales = "scales.csv" names one.')
    name = find_scale(scale, names)
    return LogRow(week.week.start, None, "heard", name, clean=None if _yes(heard) else 0)


def _yes(heard: str) -> bool:
    if heard.lower() not in ("yes", "y", "no", "n"):
        raise InputError(f'--heard takes yes or no, not "{heard}".')
    return heard.lower() in ("yes", "y")


def _box_row(
    week: Week, row: LogRow, box_id: str, tempo: str | None, clean: int | None, heard: str | None
) -> LogRow:
    from dataclasses import replace

    boxes = {item.id: item for item in (*week.boxes, *week.retired)}
    if box_id not in boxes and box_id.isdecimal() and 0 < int(box_id) <= len(week.boxes):
        box_id = week.boxes[int(box_id) - 1].id
    _known(box_id, list(boxes), "box")
    row = replace(row, box=box_id, tempo=_tempo(tempo, boxes[box_id]), clean=clean)
    if heard is None:
        return row
    if not _yes(heard):
        return replace(row, kind="heard", clean=0)
    if clean == 0:
        raise ValueError("--heard yes and --clean 0 do not go together.")
    return replace(row, kind="heard")


def _tempo(text: str | None, box: BoxItem) -> Tempo | None:
    from excerpts.excerpt import Tempo
    from excerpts.weekfile.tempo_text import parse_number, parse_tempo

    if text is None:
        return None
    if "=" in text:
        return parse_tempo(text)
    mark = box.target or box.start
    if mark is None:
        raise ValueError(
            f'The box "{box.id}" has no target; give the beat as well: --tempo "crotchet = {text}".'
        )
    return Tempo(parse_number(text), mark.unit)


def _known(name: str, known: Sequence[str], kind: str) -> None:
    from excerpts.weekfile.faults import listed, nearest

    if name not in known:
        otherwise = f"The ids are {listed(known)}." if known else f"The week has no {kind}."
        raise InputError(f'there is no {kind} "{name}" in this week.', hint=nearest(name, known, otherwise))


def _enter(week: Week, path: Path, book: Log) -> None:
    from excerpts.log import append_rows
    from excerpts.log.enter import Entering
    from excerpts.log.row import undo_row
    from excerpts.weekfile.asking import Answers

    words = _words(week)
    faults: list[LogFault] = list(book.faults)
    known = set(book.rows)
    written: dict[int, list[LogRow]] = {}
    print(words("log.enter_help"))
    for place, rows in Entering(week, words, Answers(_ask, print)).rows():
        before = written.get(place, [])  # of before an answer was taken back
        gone = [row for row in before if row not in rows]
        fresh = [row for row in rows if row not in known]
        if any(row in known and row not in before for row in rows):
            print(words("log.there_already"))
        if gone or fresh:
            faults += append_rows(path, [*map(undo_row, gone), *fresh], week.player.name, words)
        known = known.difference(gone).union(fresh)
        written[place] = [row for row in before if row in rows] + fresh
    print()
    warn(*faults)
    _written(words, sum(map(len, written.values())), path)


def _ask(question: str) -> str:
    print(question, end="", flush=True)
    answer = sys.stdin.readline()
    if not answer:
        raise EOFError
    return answer


def _append(week: Week, path: Path, rows: Sequence[LogRow], book: Log) -> None:
    from excerpts.log import append_rows

    words = _words(week)
    faults = append_rows(path, rows, week.player.name, words)
    warn(*book.faults, *faults)
    _written(words, len(rows), path)
    if any(row.kind == "box" and row.date is None for row in rows):
        print(words("log.undated"))


def _written(words: Words, count: int, path: Path) -> None:
    message = "written_none" if not count else "written_one" if count == 1 else "written"
    print(words(f"log.{message}", n=count, file=path))


def _show(week: Week, book: Log) -> None:
    from excerpts.log.row import HEADER, row_line

    words = _words(week)
    print(HEADER)
    for row in book.rows:
        if row.week == week.week.start:
            print(row_line(row, words).rstrip("\n"))
    warn(*book.faults)


def _words(week: Week) -> Words:
    from excerpts.words import Words

    return Words(week.player.words)
