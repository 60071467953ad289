"""The week: its file, and the plan of what to play on which day."""

from excerpts.week.advice import box_variants
from excerpts.week.describe import item_text, listen_for, plan_lines, relaxed_text, run_lines, tight_text
from excerpts.week.facts import BoxMusic, WeekMusic
from excerpts.week.plan import Plan, PlanDay, PlanItem, Relaxed, RunThrough, Start
from excerpts.week.planner import plan_week, repertoire
from excerpts.week.recipe import RecipeStep, recipe
from excerpts.week.tempo_text import parse_tempo, tempo_text
from excerpts.week.workload import Tight, tight_places
from excerpts.weekfile.items import BoxItem, Piece, TechniqueItem, WarmupItem
from excerpts.weekfile.load import load_week, week_faults
from excerpts.weekfile.model import Days, Player, Week, WeekFile
from excerpts.weekfile.root import find_root
from excerpts.weekfile.settings import PlanSettings
from excerpts.weekfile.studio_settings import Settings, Studio

__all__ = [
    "BoxItem",
    "Days",
    "Piece",
    "Plan",
    "PlanDay",
    "PlanItem",
    "Player",
    "PlanSettings",
    "RecipeStep",
    "RunThrough",
    "Start",
    "Tight",
    "BoxMusic",
    "WeekMusic",
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
    "listen_for",
    "load_week",
    "parse_tempo",
    "plan_lines",
    "plan_week",
    "recipe",
    "relaxed_text",
    "run_lines",
    "tight_places",
    "tight_text",
    "repertoire",
    "tempo_text",
    "week_faults",
]
