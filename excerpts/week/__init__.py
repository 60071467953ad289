"""The week: its file, and the plan of what to play on which day."""

from excerpts.week.advice import box_variants
from excerpts.week.describe import item_text, plan_lines, relaxed_text
from excerpts.week.items import BoxItem, Piece, TechniqueItem, WarmupItem
from excerpts.week.load import load_week, week_faults
from excerpts.week.model import Days, Player, Week, WeekFile
from excerpts.week.plan import Plan, PlanDay, PlanItem, Relaxed
from excerpts.week.planner import plan_week, repertoire
from excerpts.week.recipe import RecipeStep, recipe
from excerpts.week.root import find_root
from excerpts.week.studio import Settings, Studio
from excerpts.week.tempo import parse_tempo, tempo_text

__all__ = [
    "BoxItem",
    "Days",
    "Piece",
    "Plan",
    "PlanDay",
    "PlanItem",
    "Player",
    "RecipeStep",
    "Relaxed",
    "Settings",
    "Studio",
    "TechniqueItem",
    "WarmupItem",
    "Week",
    "WeekFile",
    "box_variants",
    "find_root",
    "item_text",
    "load_week",
    "parse_tempo",
    "plan_lines",
    "plan_week",
    "recipe",
    "relaxed_text",
    "repertoire",
    "tempo_text",
    "week_faults",
]
