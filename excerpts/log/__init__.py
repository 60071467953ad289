"""The player's log, and the way from one week to the next."""

from excerpts.log.append import append_rows
from excerpts.log.choices import Choices, NewBox
from excerpts.log.following_week import NextWeek, next_week
from excerpts.log.log_names import another_has_the_name, box_text, log_path
from excerpts.log.read_log import Log, LogFault, read_log
from excerpts.log.row import COLUMNS, Kind, LogRow
from excerpts.log.sent_rows import SentRows, commit, preview
from excerpts.log.shape import LogError
from excerpts.log.standing import Standing, standing

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
