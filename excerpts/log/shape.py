"""The shape of a log file: its first line, its columns and dates, whose log it is, and single lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

from excerpts.errors import InputError
from excerpts.log.row import COLUMNS, HEADER, Layout, LogRow, read_row
from excerpts.system.studio_files import same_player
from excerpts.weekfile.cells import Dates, told_delimiter

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


def row_of(line: bytes, layout: Layout) -> LogRow:
    """The row of one line, as its bytes stand in the file.

    Raises:
        ValueError: It is none; the message says why.
    """
    try:
        text = line.decode("utf-8").rstrip("\r")
    except UnicodeDecodeError:
        raise ValueError("It is not UTF-8 text: cut short, or saved with another encoding.") from None
    if text.endswith(layout.delimiter * len(COLUMNS) + CUT_SHORT):
        raise ValueError("It was cut short when it was written: the machine stopped.")
    return read_row(text, layout)


def is_torn_header(data: bytes) -> bool:
    """Whether a file is nothing but the beginning of its first line."""
    return HEADER.encode().startswith(data) and data != HEADER.encode()


def lines_of(data: bytes) -> list[bytes]:
    """The lines from the one that names the columns on; a first line that tells the delimiter stays out."""
    first, *rest = data.removeprefix(BOM).split(b"\n")
    return rest if rest and told_delimiter(first.decode("utf-8", "replace")) else [first, *rest]


def is_empty(line: bytes) -> bool:
    """Whether a line has no cell that says anything."""
    return not line.strip(b'\r\t ,;"')


def layout_of(data: bytes, path: Path) -> Layout:
    """How a log is laid out, by its first line and by all its dates.

    Raises:
        LogError: The first line is not that of a log.
    """
    head, *lines = lines_of(data)
    for delimiter in _DELIMITERS:
        names = [cell.strip().strip('"').lower() for cell in head.decode("utf-8", "replace").split(delimiter)]
        if sorted(filter(None, names)) == sorted(COLUMNS):
            layout = Layout(delimiter, tuple(names))
            return replace(layout, dates=Dates.of(_date_cells(lines, layout)))
    raise LogError(
        "this is not the log of a player.", where=str(path), hint=f"Its first line would be: {HEADER}"
    )


def _date_cells(lines: list[bytes], layout: Layout) -> Iterator[str]:
    for line in lines:
        try:
            cells = layout.cells(line.decode("utf-8", "replace").rstrip("\r"))
        except ValueError:
            continue  # told where the rows are read
        yield from (cells["week"], cells["date"])


def owner_of(data: bytes, layout: Layout) -> str | None:
    """The player whose log it is; None where it does not say so (yet)."""
    return next(iter(_owners(data, layout)), None)


def refuse_another(data: bytes, layout: Layout, player: str, path: Path) -> bool:
    """See that the log is the player's own; True when it says so itself.

    Raises:
        LogError: It is the log of somebody else.
    """
    named = False
    for owner in _owners(data, layout):
        if not same_player(owner, player):
            raise LogError(
                f"this is the log of {owner}, not of {player}.",
                where=str(path),
                hint="Give one of the two players another name, or move the log away.",
            )
        named = True
    return named


def _owners(data: bytes, layout: Layout) -> Iterator[str]:
    """The name in every whole row that tells the player."""
    for line in lines_of(data)[1:-1]:  # without its end the name may be cut short
        if b"player" not in line:
            continue
        try:
            row = row_of(line, layout)
        except ValueError:
            continue  # told where the rows are read
        if row.kind == "player":
            yield row.note
