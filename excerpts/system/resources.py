"""Finds templates, words, faces and demo scores: inside an installed wheel first, else in the checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


def _find(name: str) -> Path:
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"the installation is incomplete: no folder '{name}' beside the package")


def templates() -> Path:
    """Folder of the page templates, with `words/` and `fonts/` in it."""
    return _find("templates")


def scores() -> Path:
    """Folder of the demo scores and demo week files."""
    return _find("scores")
