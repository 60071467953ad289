"""The week: its file, and the plan of what to play on which day."""

from excerpts.week.items import BoxItem, Piece, TechniqueItem, WarmupItem
from excerpts.week.load import load_week, week_faults
from excerpts.week.model import Days, Player, Week, WeekFile
from excerpts.week.root import find_root
from excerpts.week.studio import Settings, Studio
from excerpts.week.tempo import parse_tempo, tempo_text

__all__ = [
    "BoxItem",
    "Days",
    "Piece",
    "Player",
    "Settings",
    "Studio",
    "TechniqueItem",
    "WarmupItem",
    "Week",
    "WeekFile",
    "find_root",
    "load_week",
    "parse_tempo",
    "week_faults",
    "tempo_text",
]
