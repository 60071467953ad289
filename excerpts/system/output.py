"""Files that are written: what they are called; whole or not at all; never over something of the user's."""

from __future__ import annotations

import os
import stat
from hashlib import sha256
from pathlib import Path
from typing import Final

from excerpts.errors import OutputError
from excerpts.musicxml.format import SOFTWARE
from excerpts.system.lock import try_hold

_SIGNS: Final = (f"<software>{SOFTWARE}</software>", f"Made with {SOFTWARE}", f"/ID [({SOFTWARE}) (")
"""What a file has in it when this program wrote it: MusicXML; SVG and MIDI; the identifier of a PDF."""

PART: Final = ".part"
"""Ending of a file that is being written."""


def check_output(path: Path, suffixes: tuple[str, ...] = (), *, force: bool = False) -> None:
    """See that `path` can be written, before the work is done.

    Args:
        path: The file to be written.
        suffixes: Endings that the command can write; empty for any.
        force: The user allows anything to be overwritten.

    Raises:
        OutputError: The ending is not one of them, the folder is missing or cannot be written to, or a file
            that this program did not make stands there.
    """
    if suffixes and path.suffix.lower() not in suffixes:
        raise OutputError(
            f"this command does not write '{path.suffix or path.name}' files.",
            where=str(path),
            hint=f"The ending says what to write: {', '.join(suffixes)}.",
        )
    folder = path.parent
    if not folder.is_dir():
        raise OutputError(f"there is no folder {folder}.", where=str(path), hint="Make it first.")
    if not os.access(folder, os.W_OK):
        raise OutputError(f"the folder {folder} cannot be written to.", where=str(path))
    if path.is_dir():
        raise OutputError("this is a folder.", where=str(path), hint="Name the file to write.")
    if path.exists() and not path.is_file():
        raise OutputError("this is not a file that can be written.", where=str(path))
    if path.exists() and not force and not made_here(path):
        raise OutputError(
            "there is already a file that this program did not make.",
            where=str(path),
            hint="Choose another name, or add --force to overwrite it.",
        )


def made_here(path: Path) -> bool:
    """Whether this program wrote the file at `path`."""
    data = path.read_bytes()
    if data.startswith(b"PK"):
        import zipfile

        try:
            with zipfile.ZipFile(path) as box:
                return box.comment == SOFTWARE.encode()
        except zipfile.BadZipFile:
            return False
    return any(sign.encode() in data for sign in _SIGNS)


def write_whole(path: Path, data: bytes, *, as_before: bool = False) -> None:
    """Write a file so that it is there whole or not at all, also when the machine stops in between.

    What another process left beside it when it was killed is taken away.

    Args:
        path: The file.
        data: What it is to hold.
        as_before: A link stays a link, and the file that is written over keeps its mode.

    Raises:
        OutputError: The file cannot be written (folder gone, disk full, name too long).
    """
    temporary: Path | None = None
    try:
        mode = None
        if as_before:
            path = path.resolve()
            mode = path.stat().st_mode if path.exists() else None
        clear_parts(path)
        handle, temporary = _held_part(path)
        with open(handle, "wb") as file:
            if mode is not None:
                os.chmod(temporary, stat.S_IMODE(mode))
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
            if os.name != "posix":  # there an open file cannot be renamed
                file.close()
            os.replace(temporary, path)
        temporary = None
        if as_before:
            settle(path.parent)
    except OSError as error:
        raise OutputError(f"the file cannot be written ({error.strerror}).", where=str(path)) from error
    finally:  # also when the user interrupts
        if temporary is not None:
            temporary.unlink(missing_ok=True)


def make_folder(folder: Path, *, parents: bool = True, mode: int = 0o777) -> None:
    """Make a folder where it is not there, with those around it if `parents`.

    Raises:
        OutputError: It cannot be made.
    """
    try:
        folder.mkdir(mode, parents, exist_ok=True)
    except OSError as error:
        raise OutputError(f"the folder cannot be made ({error.strerror}).", where=str(folder)) from error


def settle(folder: Path) -> None:
    """Have a folder's entries of new files on the disk, where the system allows it.

    Raises:
        OSError: The folder cannot be opened.
    """
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def clear_parts(path: Path) -> None:
    """Take away what processes that were killed while they wrote `path` have left beside it.

    What is being written now is held by its process, and stays.
    """
    for left in path.parent.glob(f"{_part_name(path)}*{PART}"):
        try:
            with left.open("rb") as file:
                if try_hold(file.fileno()):
                    left.unlink(missing_ok=True)
        except OSError:
            continue  # gone meanwhile, or of somebody else


def _held_part(path: Path) -> tuple[int, Path]:
    """A new file beside `path`, held until it is closed, so that nobody takes it for one that was left."""
    while True:
        part = path.with_name(f"{_part_name(path)}{os.urandom(6).hex()}{PART}")
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
        try:
            if try_hold(handle) and part.exists():
                return handle, part
        except OSError:
            return handle, part  # no locks here, so that nobody takes anything away either
        os.close(handle)  # it was taken away before it was held


def _part_name(path: Path) -> str:
    """How the parts of a file begin: short, since its own name may be as long as the system allows."""
    return f".{sha256(path.name.encode()).hexdigest()[:12]}-"
