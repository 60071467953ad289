"""The week: a week file resolved against its scores, and everything in notes that it asks for."""

from excerpts.week.advice import box_variants
from excerpts.week.model import BoxMusic, Week, WeekMusic
from excerpts.week.resolve import load_week, resolve, week_faults

__all__ = ["BoxMusic", "Week", "WeekMusic", "box_variants", "load_week", "resolve", "week_faults"]
