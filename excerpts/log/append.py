"""Adds rows to a log so that whoever is told that they are written can rely on it.

A row is in one write, under a lock, and on the disk (fsync) before anybody is told. What a crash leaves behind is
at most one line without its end: the next writer closes it, so that nothing is glued to it.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from excerpts.errors import OutputError
from excerpts.log.read_log import LogFault
from excerpts.log.row import COLUMNS, HEADER, Layout, LogRow, row_line
from excerpts.log.shape import (
    BOM,
    CUT_SHORT,
    LARGEST,
    LogError,
    is_torn_header,
    layout_of,
    refuse_another,
    refuse_device,
    row_of,
)
from excerpts.system.lock import held
from excerpts.system.output import settle
from excerpts.weekfile.cells import as_utf8, utf_16
from excerpts.words import Words


def append_rows(path: Path, rows: Sequence[LogRow], player: str, words: Words) -> tuple[LogFault, ...]:
    """Add rows to a log, all in one go; when this returns they are on the disk.

    Args:
        path: The file; made if it is not there.
        rows: The rows.
        player: Name of the player that the log must be of.
        words: Words of the player, for the beats.

    Returns:
        The line that a crash had left without its end, if there was one.

    Raises:
        LogError: A text is too long, or the file is no log, or the log of another player.
        OutputError: It cannot be written; nothing is.
    """
    try:
        for row in rows:
            row_line(row, words)  # what cannot be written is found before the file is touched
    except ValueError as error:
        raise LogError(str(error), where=path.name) from error
    refuse_device(path)
    try:
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    except OSError as error:
        raise OutputError(f"the log cannot be written ({error.strerror}).", where=str(path)) from error
    try:
        with held(handle):
            return _append(handle, path, rows, player, words)
    except OSError as error:
        raise OutputError(f"the log cannot be written ({error.strerror}).", where=str(path)) from error
    finally:
        os.close(handle)


def _append(
    handle: int, path: Path, rows: Sequence[LogRow], player: str, words: Words
) -> tuple[LogFault, ...]:
    raw = _content(handle, path)
    data = as_utf8(raw)
    start, faults, layout = _mend(data, path)
    named = not start.startswith(HEADER) and refuse_another(data, layout, player, path)
    wanted = rows if named else (LogRow(None, kind="player", note=player), *rows)
    text = start + "".join(row_line(row, words, layout) for row in wanted)
    encoding = utf_16(raw)
    half = b"\0" if encoding and len(raw) % 2 else b""  # a character that a crash cut in two
    _write(handle, half + text.encode(encoding or "utf-8"), len(raw))
    if not data:
        settle(path.parent)
    return faults


def _content(handle: int, path: Path) -> bytes:
    if os.fstat(handle).st_size > LARGEST:
        raise LogError(f"it is larger than {LARGEST // 1_000_000} MB: this is not a log.", where=str(path))
    os.lseek(handle, 0, os.SEEK_SET)
    parts = []
    while part := os.read(handle, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def _mend(data: bytes, path: Path) -> tuple[str, tuple[LogFault, ...], Layout]:
    """What has to be written first so that the file ends with a whole line, the fault found, the layout."""
    if not data.removeprefix(BOM):
        return f"{HEADER}\n", (), Layout()
    if is_torn_header(data):
        return HEADER[len(data) :] + "\n", (), Layout()
    layout = layout_of(data, path)
    if data.endswith(b"\n"):
        return "", (), layout
    before, _, last = data.rpartition(b"\n")
    try:
        if before and row_of(last, layout).kind == "player":
            raise ValueError("It has no end, so that the player's name may be cut short.")
        return "\n", (), layout
    except ValueError as error:
        quote = '"' if last.count(b'"') % 2 else ""
        fault = LogFault(path.name, data.count(b"\n") + 1, str(error))
        return f"{quote}{layout.delimiter * len(COLUMNS)}{CUT_SHORT}\n", (fault,), layout


def _write(handle: int, data: bytes, size: int) -> None:
    written = 0
    try:
        while written < len(data):
            written += os.write(handle, data[written:])
        os.fsync(handle)
    except OSError:
        os.ftruncate(handle, size)  # under the lock, so that only this writer's own half row goes
        raise
