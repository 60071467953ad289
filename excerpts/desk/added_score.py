"""Takes a score that is dropped on a page into the studio's folder of scores, once it was read as music."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from excerpts.desk.studio_state import StudioState
from excerpts.errors import OutputError, ScoreError
from excerpts.score.opening import open_score

_NAME: Final = re.compile(r'[^\x00-\x1f\x7f/\\:*?"<>|.][^\x00-\x1f\x7f/\\:*?"<>|]{0,120}\.\w{1,8}')
"""A name of a file on any system and nothing else: no folder, no dot at its beginning, no control character."""


def add_score(state: StudioState, name: str, data: bytes) -> Path:
    """Write a score into the studio's folder of scores.

    Args:
        state: The studio.
        name: The name of the file.
        data: What it holds.

    Raises:
        ScoreError: It holds no music that can be read.
        OutputError: The name cannot be used, or another file has it.
    """
    check_name(name)
    with TemporaryDirectory() as place:
        probe = Path(place) / name
        probe.write_bytes(data)
        try:
            open_score(probe)
        except ScoreError as error:
            raise ScoreError(error.what, where=name, hint=error.hint) from error
    return store(state, name, data)


def check_name(name: str) -> None:
    """Refuse a name that leads elsewhere, or that some system cannot write.

    Raises:
        OutputError: It is one of these.
    """
    if not _NAME.fullmatch(name):
        raise OutputError("a score cannot be called that.", where=name[:80], hint="Give it a plain name.")


def store(state: StudioState, name: str, data: bytes, inside: str = "") -> Path:
    """Write a file that was read before into the studio's folder of scores.

    Args:
        state: The studio.
        name: Its name, which was checked.
        data: What it holds.
        inside: The folder in that of the scores; none for itself.

    Raises:
        OutputError: Another file has the name, or it cannot be written.
    """
    folder = state.root / state.studio.settings.scores / inside
    path = folder / name
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"the folder cannot be made ({error.strerror}).", where=str(folder)) from error
    shown = state.saves.show(path)
    if shown.digest and shown.data != data:
        raise OutputError(
            "there is another score of that name.", where=name, hint="Give this one another name."
        )
    if not shown.digest:
        state.saves.save(path, "", data, what=state.words("desk.studio.score_added", file=name))
    return path
