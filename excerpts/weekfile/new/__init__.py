"""Gets week files written: from answers to plain questions, or from a table with one row per box."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from excerpts.weekfile.new.from_rows import NewFile, from_table, week_path
    from excerpts.weekfile.new.questions import ask_week
    from excerpts.weekfile.new.table import read_table
    from excerpts.weekfile.new.week_files import week_text

# Imported when they are asked for: whoever only reads a typed number must not load the questions.
_HOMES = {
    "NewFile": "from_rows",
    "from_table": "from_rows",
    "week_path": "from_rows",
    "ask_week": "questions",
    "read_table": "table",
    "week_text": "week_files",
}

__all__ = ["NewFile", "ask_week", "from_table", "read_table", "week_path", "week_text"]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'excerpts.weekfile.new' has no attribute {name!r}")
    return getattr(import_module(f"excerpts.weekfile.new.{_HOMES[name]}"), name)
