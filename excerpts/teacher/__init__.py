"""The teacher's own pages: lesson sheet, board of the studio, progress, notes; not for a player's stand."""

from excerpts.teacher.board import board, read_states
from excerpts.teacher.chart import progress_lines, progress_svg
from excerpts.teacher.lesson_sheet import lesson_sheet
from excerpts.teacher.notes import notes
from excerpts.teacher.players import latest_weeks
from excerpts.teacher.progress import progress
from excerpts.teacher.standing_sheet import player_state

__all__ = [
    "board",
    "latest_weeks",
    "lesson_sheet",
    "notes",
    "player_state",
    "progress",
    "progress_lines",
    "progress_svg",
    "read_states",
]
