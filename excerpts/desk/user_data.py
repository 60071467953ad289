"""Where the desk keeps what is no part of a studio: the list of undo, files as they were, the start file.

It stands in the user's data folder and not in the studio: a studio is copied between computers and sent by mail, and
earlier versions of a week file with private notes should not travel with it.
"""

from __future__ import annotations

import os
import sys
from hashlib import sha256
from pathlib import Path

from excerpts.errors import OutputError
from excerpts.system.output import make_folder


def data_folder() -> Path:
    """The user's data folder of this program, made if it is not there, for the user alone.

    Linux: XDG Base Directory Specification 0.8, `$XDG_DATA_HOME`, else `~/.local/share`; Mac:
    `~/Library/Application Support`; Windows: `%LOCALAPPDATA%`.

    Raises:
        OutputError: It cannot be made.
    """
    try:
        folder = base_folder() / "excerpts"
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except (OSError, RuntimeError) as error:
        raise OutputError(f"the folder for the desk's own files cannot be made ({error}).") from error
    return folder


def base_folder() -> Path:
    """The folder of user data of all programs, by the conventions of the system."""
    given = os.environ.get("XDG_DATA_HOME", "")
    if given and Path(given).is_absolute():  # the specification: a path that is not absolute is to be ignored
        return Path(given)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    return Path.home() / ".local" / "share"


def studio_folder(root: Path) -> Path:
    """The folder in it that is kept for one studio.

    Args:
        root: The studio's folder.

    Raises:
        OutputError: It cannot be made.
    """
    folder = data_folder() / "desk" / sha256(str(root.resolve()).encode()).hexdigest()[:16]
    make_folder(folder, mode=0o700)
    return folder
