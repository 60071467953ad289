"""The plan of a week: what is played on which day, for how many minutes, and which rule had to yield.

It opens no file: it is made of a week and of what was measured of its music.
"""

from excerpts.week.plan.choice import repertoire
from excerpts.week.plan.describe import (
    day_lines,
    item_text,
    listen_for,
    plan_lines,
    relaxed_text,
    remark_lines,
    run_lines,
    tight_text,
)
from excerpts.week.plan.model import Plan, PlanDay, PlanItem, Relaxed, RunThrough, Start, Stretch
from excerpts.week.plan.planner import plan_week
from excerpts.week.plan.workload import StepName, Tight, recipe, tight_places

__all__ = [
    "Plan",
    "PlanDay",
    "PlanItem",
    "Relaxed",
    "RunThrough",
    "Start",
    "StepName",
    "Stretch",
    "Tight",
    "day_lines",
    "item_text",
    "listen_for",
    "plan_lines",
    "plan_week",
    "recipe",
    "relaxed_text",
    "remark_lines",
    "repertoire",
    "run_lines",
    "tight_places",
    "tight_text",
]
