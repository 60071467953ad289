"""Rows that a player sent: read and shown, then added to the log. A command and a page in a browser use both alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from excerpts.log.append import append_rows
from excerpts.log.doubts import row_doubts
from excerpts.log.read_log import Log, LogFault, log_in, read_log
from excerpts.log.row import HEADER, LogRow, undo_row
from excerpts.log.shape import LARGEST, LogError
from excerpts.week import Week
from excerpts.words import Words

_OWNER: Final = f"Its first lines would be: {HEADER} and ,,player,,,,,,NAME"


@dataclass(frozen=True, slots=True)
class SentRows:
    """What a file of rows would add to a player's log.

    Attributes:
        fresh: The rows that the log does not have; among them those that take back one that it has.
        asked: Rows that are added only when somebody says so, each with the question.
        known: How many rows the log has already.
        faults: The lines of the file that are no rows.
    """

    fresh: tuple[LogRow, ...]
    asked: tuple[tuple[LogRow, str], ...]
    known: int
    faults: tuple[LogFault, ...]


def preview(data: bytes, name: str, week: Week, book: Log) -> SentRows:
    """What a file of rows would add to a log; nothing is written.

    A row is known when the log holds as many rows like it as the file.

    Args:
        data: The file: a log with the row that tells the player.
        name: Its name, for messages.
        week: The player's week.
        book: The player's log.

    Raises:
        LogError: It is no log, does not say whose it is, or is another player's.
    """
    if len(data) > LARGEST:
        raise LogError(f"it is larger than {LARGEST // 1_000_000} MB: this is not a log.", where=name)
    sent, named = log_in(data, Path(name), week.player.name)
    if not named:
        raise LogError("it does not say whose rows these are.", where=name, hint=_OWNER)
    held, undone, words = Counter(book.rows), Counter(book.undone), Words(week.player.words)
    fresh: list[LogRow] = []
    asked: list[tuple[LogRow, str]] = []
    for row in sent.rows:
        if held[row]:
            held[row] -= 1
            continue
        questions = [question for question in _questions(week, row, words) if question]
        if undone[row]:
            undone[row] -= 1
            questions.insert(0, words("log.doubt_undone"))
        if questions:
            asked.append((row, " ".join(questions)))
        else:
            fresh.append(row)
    known = len(sent.rows) - len(fresh) - len(asked)
    for row in sent.undone:  # what the player took back
        if held[row]:
            held[row] -= 1
            fresh.append(undo_row(row))
    return SentRows(tuple(fresh), tuple(asked), known, sent.faults)


def commit(
    data: bytes, name: str, week: Week, path: Path, agreed: Collection[LogRow] = ()
) -> tuple[LogRow, ...]:
    """Add the rows of a file to the log as it is now: what was added meanwhile, or by an earlier call, is known.

    Args:
        data: The file.
        name: Its name, for messages.
        week: The player's week.
        path: The log; made if it is not there.
        agreed: The rows among those asked about that are to be added.

    Returns:
        The rows that were added.

    Raises:
        LogError: As `preview`, or the log cannot be read or added to.
    """
    made = preview(data, name, week, read_log(path, week.player.name))
    rows = (*made.fresh, *(row for row, _ in made.asked if row in agreed))
    if rows:
        append_rows(path, rows, week.player.name, Words(week.player.words))
    return rows


def _questions(week: Week, row: LogRow, words: Words) -> tuple[str, ...]:
    """What can hardly be right in a row."""
    start = row.week
    early = (
        words("log.doubt_early", day=row.date, start=start) if start and row.date and row.date < start else ""
    )
    return (early, *row_doubts(week, row, words))
