"""Reads the log of one player: a CSV file that is only ever added to, a whole row at a time.

Every line is read by itself, so that a quotation mark left open harms no other line, and a line that is no row is
told and never dropped from the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from excerpts.log.row import Layout, LogRow, row_digest
from excerpts.log.shape import (
    BOM,
    LARGEST,
    LogError,
    is_empty,
    is_torn_header,
    layout_of,
    lines_of,
    owner_of,
    refuse_another,
    refuse_device,
    row_of,
)
from excerpts.weekfile.cells import as_utf8


@dataclass(frozen=True, slots=True)
class LogFault:
    """A line of a log that is no row.

    Attributes:
        file: Name of the log.
        line: Its line, from 1.
        message: What was found and what would be right.
    """

    file: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}: {self.message} The line is left as it is and not counted."


@dataclass(frozen=True, slots=True)
class Log:
    """What a player's log says.

    Attributes:
        path: The file.
        rows: Its rows, in order, without the one that tells the player and those that were taken back.
        undone: Its rows that were taken back.
        faults: Its lines that are no rows.
        read: How many of its lines are rows of any kind.
    """

    path: Path
    rows: tuple[LogRow, ...] = ()
    undone: tuple[LogRow, ...] = ()
    faults: tuple[LogFault, ...] = ()
    read: int = 0

    def refuse_unread(self) -> None:
        """See that nothing is decided from the few rows that could be read of a log.

        Raises:
            LogError: More of its lines are no rows than are.
        """
        if len(self.faults) > self.read:
            raise LogError(
                f"only {self.read} of its {self.read + len(self.faults)} lines can be read, so that nothing can "
                f"be decided from it. {self.faults[0]}",
                where=str(self.path),
                hint="Undo what a spreadsheet has changed in it, or save it again as CSV.",
            )


def read_log(path: Path, player: str) -> Log:
    """Read a log; one that is not there yet is empty.

    Args:
        path: The file.
        player: Name of the player that it must be of.

    Raises:
        LogError: It cannot be read, is no log, or is the log of another player.
    """
    if not path.exists():
        return Log(path)
    return log_in(log_bytes(path), path, player)[0]


def log_bytes(path: Path) -> bytes:
    """What a file of rows holds.

    Raises:
        LogError: It cannot be read, or is no log by its size.
    """
    try:
        refuse_device(path)
        size = path.stat().st_size
        data = b"" if size > LARGEST else path.read_bytes()
    except OSError as error:
        raise LogError(f"the log cannot be read ({error.strerror}).", where=str(path)) from error
    if size > LARGEST:
        raise LogError(f"it is larger than {LARGEST // 1_000_000} MB: this is not a log.", where=str(path))
    return data


def log_in(data: bytes, path: Path, player: str) -> tuple[Log, bool]:
    """The log in the bytes of a file, and whether it says itself that it is the player's.

    Raises:
        LogError: It is no log, or the log of another player.
    """
    data = as_utf8(data)
    if not data.removeprefix(BOM) or is_torn_header(data):
        return Log(path), False
    layout = layout_of(data, path)
    named = refuse_another(data, layout, player, path)
    return _read_lines(path, data, layout), named


def log_owner(path: Path) -> str | None:
    """The player whose log a file is; None where it does not say so, or is no log: reading it tells why."""
    try:
        refuse_device(path)
        if path.stat().st_size > LARGEST:
            return None
        data = as_utf8(path.read_bytes())
        return owner_of(data, layout_of(data, path))
    except (OSError, LogError):
        return None


def _read_lines(path: Path, data: bytes, layout: Layout) -> Log:
    rows: list[LogRow] = []
    undone: list[LogRow] = []
    faults: list[LogFault] = []
    read = 0
    lines = lines_of(data)
    first = data.count(b"\n") + 2 - len(lines)  # the line that names the columns
    for number, line in enumerate(lines[1:], start=first + 1):
        if is_empty(line):
            continue
        try:
            row = row_of(line, layout)
            if row.kind == "undo":
                undone.append(_taken_back(rows, row))
            elif row.kind != "player":
                rows.append(row)
            read += 1
        except ValueError as error:
            faults.append(LogFault(path.name, number, str(error)))
    return Log(path, tuple(rows), tuple(undone), tuple(faults), read)


def _taken_back(rows: list[LogRow], undo: LogRow) -> LogRow:
    """Take the last row that is meant out of those before.

    Raises:
        ValueError: There is none.
    """
    for place in reversed(range(len(rows))):
        if row_digest(rows[place]) == undo.note:
            return rows.pop(place)
    raise ValueError("It takes back a row that is not above it.")
