"""A way to the desk without a terminal: an entry in the menu of programs."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from excerpts.desk.user_data import base_folder
from excerpts.system.output import make_folder, write_whole

_ELSEWHERE = (
    "Make the shortcut by hand here (untried by us). {how}\nThe command to put there is:\n  {command}"
)
_WINDOWS = "Windows: right-click the desktop, New, Shortcut, and paste the command as the location."
_MAC = (
    "Mac: write the command into a text file named Desk.command, make it executable (chmod +x Desk.command), and "
    "put it on the desktop; a double click opens it."
)


def write_shortcut(folder: Path) -> str:
    """Write an entry for the desk of a folder, and say what was written; elsewhere than on Linux, say how to make one.

    The entry: Desktop Entry Specification 1.5 (freedesktop.org), in `$XDG_DATA_HOME/applications`.

    Raises:
        OutputError: It cannot be written.
    """
    words = [*_program(), "desk", str(folder.resolve())]
    if sys.platform in ("win32", "darwin"):
        command = " ".join(f'"{word}"' if " " in word else word for word in words)
        return _ELSEWHERE.format(how=_MAC if sys.platform == "darwin" else _WINDOWS, command=command)
    place = base_folder() / "applications"
    path = place / "excerpts-desk.desktop"
    make_folder(place)
    write_whole(path, entry(words, folder.resolve().name).encode())
    os.chmod(path, 0o755)
    return f"{path}\nThe desk is in the menu of programs now, as Excerpts ({folder.resolve().name})."


def _program() -> list[str]:
    """The words that start this program: its script beside this Python, else Python itself."""
    for name in ("excerpts", "excerpts.exe"):
        script = Path(sys.executable).with_name(name)
        if script.is_file():
            return [str(script)]
    return [sys.executable, "-c", "import sys, excerpts.cli; sys.exit(excerpts.cli.run())"]


def entry(words: list[str], name: str) -> str:
    """The text of a desktop entry.

    Args:
        words: The command and its arguments.
        name: Name of the studio.
    """
    lines = {
        "Type": "Application",
        "Version": "1.5",
        "Name": _string(f"Excerpts ({name})"),
        "Comment": "Players, weeks, lessons and printing of a studio",
        "Exec": _string(" ".join(map(_quoted, words))),
        "Terminal": "true",
        "Categories": "Education;Music;",
    }
    return "[Desktop Entry]\n" + "".join(f"{key}={value}\n" for key, value in lines.items())


def _quoted(word: str) -> str:
    """An argument as `Exec` wants it: in quotes, four characters escaped, a per cent sign doubled."""
    for sign in ("\\", '"', "`", "$"):
        word = word.replace(sign, f"\\{sign}")
    return '"' + word.replace("%", "%%") + '"'


def _string(text: str) -> str:
    """A value of type string: the backslash and the ends of lines are escaped."""
    return text.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r").replace("\t", "\\t")
