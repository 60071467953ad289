"""Opens the browser on the start address without its secret being seen by other users of the computer.

A browser that is started with an address has it in the list of processes, which everybody may read. So it is started
with a file that only the user may read, and the file leads to the address.
"""

from __future__ import annotations

import os
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from pathlib import Path

from excerpts.desk.user_data import data_folder
from excerpts.system.lock import try_hold


@contextmanager
def start_file(address: str, port: int) -> Iterator[Path]:
    """A file of mode 0600 that leads to an address; taken away at the end.

    It stands in the user's data folder: some browsers are kept from the folder for temporary files.
    """
    folder = data_folder()
    _clear(folder)
    path = folder / f"start-{port}.html"
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600)
    with open(handle, "w", encoding="utf-8") as file:
        os.chmod(path, 0o600)
        try_hold(file.fileno())
        file.write(
            '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta name="referrer" content="no-referrer">'
            f'<meta http-equiv="refresh" content="0;url={escape(address)}"><title>Excerpts</title></head>'
            f'<body><p><a href="{escape(address)}">Open the desk</a></p></body></html>\n'
        )
        file.flush()
        try:
            yield path
        finally:
            path.unlink(missing_ok=True)


def _clear(folder: Path) -> None:
    """Take away what desks that were killed have left: a file of one that runs is held by it."""
    for left in folder.glob("start-*.html"):
        try:
            with left.open("rb") as file:
                if try_hold(file.fileno()):
                    left.unlink(missing_ok=True)
        except OSError:
            continue  # gone meanwhile


def open_browser(path: Path) -> bool:
    """Open the start file in the user's browser; False where there is none."""
    return webbrowser.open(path.as_uri())
