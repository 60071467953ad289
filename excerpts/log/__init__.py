"""The player's log, and the way from one week to the next."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from excerpts.log.append import append_rows
from excerpts.log.log_names import another_has_the_name, box_text, log_path
from excerpts.log.read_log import Log, LogFault, read_log
from excerpts.log.row import COLUMNS, Kind, LogRow
from excerpts.log.shape import LogError
from excerpts.log.standing import Standing, standing

if TYPE_CHECKING:
    from excerpts.log.choices import Choices, NewBox
    from excerpts.log.following_week import NextWeek, next_week
    from excerpts.log.sent_rows import SentRows, commit, preview

# Imported when they are asked for: whoever only reads a log must not load what makes the music of the next week.
_HOMES = {
    "Choices": "choices",
    "NewBox": "choices",
    "NextWeek": "following_week",
    "next_week": "following_week",
    "SentRows": "sent_rows",
    "commit": "sent_rows",
    "preview": "sent_rows",
}

__all__ = [
    "COLUMNS",
    "Choices",
    "Kind",
    "Log",
    "LogError",
    "LogFault",
    "LogRow",
    "NewBox",
    "NextWeek",
    "SentRows",
    "Standing",
    "another_has_the_name",
    "append_rows",
    "box_text",
    "commit",
    "log_path",
    "next_week",
    "preview",
    "read_log",
    "standing",
]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'excerpts.log' has no attribute {name!r}")
    return getattr(import_module(f"excerpts.log.{_HOMES[name]}"), name)
