"""Gets week files written: from answers to plain questions, or from a table with one row per box."""

from excerpts.week.new.questions import Answers, ask_week
from excerpts.week.new.table import read_table
from excerpts.week.new.text import week_text
from excerpts.week.new.written import NewFile, file_name, from_table

__all__ = ["Answers", "NewFile", "ask_week", "file_name", "from_table", "read_table", "week_text"]
