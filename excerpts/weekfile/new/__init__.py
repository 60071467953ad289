"""Gets week files written: from answers to plain questions, or from a table with one row per box."""

from excerpts.weekfile.new.from_rows import NewFile, from_table, week_path
from excerpts.weekfile.new.questions import ask_week
from excerpts.weekfile.new.table import read_table
from excerpts.weekfile.new.week_files import week_text

__all__ = ["NewFile", "ask_week", "from_table", "read_table", "week_path", "week_text"]
