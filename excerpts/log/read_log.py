"""Reads the log of one player: a CSV file that is only ever added to, a whole row at a time.

Every line is read by itself, so that a quotation mark left open harms no other line, and a line that is no row is
told and never dropped from the file.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from excerpts.log.row import LogRow, row_digest
from excerpts.log.shape import (
    BOM,
    LARGEST,
    LogError,
    delimiter_of,
    is_torn_header,
    owner_of,
    refuse_another,
    refuse_device,
    row_of,
)


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
        faults: Its lines that are no rows.
    """

    path: Path
    rows: tuple[LogRow, ...] = ()
    faults: tuple[LogFault, ...] = ()


def read_log(path: Path, player: str) -> Log:
    """Read a log; one that is not there yet is empty.

    Args:
        path: The file.
        player: Name of the player that it must be of.

    Raises:
        LogError: It cannot be read, is no log, or is the log of another player.
    """
    try:
        refuse_device(path)
        size = path.stat().st_size
        data = b"" if size > LARGEST else path.read_bytes()
    except FileNotFoundError:
        return Log(path)
    except OSError as error:
        raise LogError(f"the log cannot be read ({error.strerror}).", where=str(path)) from error
    if size > LARGEST:
        raise LogError(f"it is larger than {LARGEST // 1_000_000} MB: this is not a log.", where=str(path))
    if not data.removeprefix(BOM) or is_torn_header(data):
        return Log(path)
    delimiter = delimiter_of(data, path)
    refuse_another(data, delimiter, player, path)
    return _read_lines(path, data, delimiter)


def log_owner(path: Path) -> str | None:
    """The player whose log a file is; None where it does not say so, or is no log: reading it tells why."""
    try:
        refuse_device(path)
        if path.stat().st_size > LARGEST:
            return None
        data = path.read_bytes()
        return owner_of(data, delimiter_of(data, path))
    except (OSError, LogError):
        return None


def _read_lines(path: Path, data: bytes, delimiter: str) -> Log:
    rows: list[LogRow] = []
    faults: list[LogFault] = []
    for number, line in enumerate(data.split(b"\n")[1:], start=2):
        if not line.strip():
            continue
        try:
            row = row_of(line, delimiter)
        except ValueError as error:
            faults.append(LogFault(path.name, number, str(error)))
            continue
        if row.kind == "undo" and not _taken_back(rows, row):
            faults.append(LogFault(path.name, number, "It takes back a row that is not above it."))
        elif row.kind not in ("player", "undo"):
            rows.append(row)
    return Log(path, tuple(rows), tuple(faults))


def _taken_back(rows: list[LogRow], undo: LogRow) -> bool:
    """Take the last row that is meant out of those before; False where there is none."""
    for place in reversed(range(len(rows))):
        if row_digest(rows[place]) == undo.note:
            del rows[place]
            return True
    return False
