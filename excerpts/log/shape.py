"""The shape of a log file: its first line, what stands between the columns, whose log it is, and single lines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from excerpts.errors import InputError
from excerpts.log.row import COLUMNS, HEADER, LogRow, read_row
from excerpts.system.player_files import same_player

LARGEST: Final = 20_000_000
"""Bytes of a log: many lifetimes of practice."""

BOM: Final = b"\xef\xbb\xbf"
CUT_SHORT: Final = "cut short"
"""What the next writer puts behind a line that a crash left without its end."""

_DELIMITERS: Final = (",", ";", "\t")


class LogError(InputError):
    """A log cannot be read or added to."""


def refuse_device(path: Path) -> None:
    """See that nothing but a file is read: a device has no end, and a pipe may wait for ever.

    Raises:
        LogError: It is there, and is not a file.
    """
    if path.exists() and not path.is_file():
        raise LogError("this is not a file.", where=str(path))


def row_of(line: bytes, delimiter: str) -> LogRow:
    """The row of one line, as its bytes stand in the file.

    Raises:
        ValueError: It is none; the message says why.
    """
    try:
        text = line.decode("utf-8").rstrip("\r")
    except UnicodeDecodeError:
        raise ValueError("It is not UTF-8 text: cut short, or saved with another encoding.") from None
    if text.endswith(delimiter * len(COLUMNS) + CUT_SHORT):
        raise ValueError("It was cut short when it was written: the machine stopped.")
    return read_row(text, delimiter)


def is_torn_header(data: bytes) -> bool:
    """Whether a file is nothing but the beginning of its first line."""
    return HEADER.encode().startswith(data) and data != HEADER.encode()


def delimiter_of(data: bytes, path: Path) -> str:
    """What stands between the columns, by the first line.

    Raises:
        LogError: The first line is not that of a log.
    """
    first = data.removeprefix(BOM).partition(b"\n")[0].decode("utf-8", "replace").strip()
    for delimiter in _DELIMITERS:
        cells = [cell.strip().strip('"').lower() for cell in first.rstrip(delimiter).split(delimiter)]
        if cells == list(COLUMNS):
            return delimiter
    raise LogError(
        "this is not the log of a player.", where=str(path), hint=f"Its first line would be: {HEADER}"
    )


def owner_of(data: bytes, delimiter: str) -> str | None:
    """The player whose log it is; None where it does not say so (yet)."""
    return next(iter(_owners(data, delimiter)), None)


def refuse_another(data: bytes, delimiter: str, player: str, path: Path) -> bool:
    """See that the log is the player's own; True when it says so itself.

    Raises:
        LogError: It is the log of somebody else.
    """
    named = False
    for owner in _owners(data, delimiter):
        if not same_player(owner, player):
            raise LogError(
                f"this is the log of {owner}, not of {player}.",
                where=str(path),
                hint="Give one of the two players another name, or move the log away.",
            )
        named = True
    return named


def _owners(data: bytes, delimiter: str) -> Iterator[str]:
    """The name in every whole row that tells the player."""
    said = f'"?player"?{re.escape(delimiter)}'
    for match in re.finditer(said.encode(), data):
        start = data.rfind(b"\n", 0, match.start()) + 1
        line, end, _ = data[start:].partition(b"\n")
        try:
            row = row_of(line, delimiter)
        except ValueError:
            continue  # told where the rows are read
        if row.kind == "player" and end:  # without its end the name may be cut short
            yield row.note
