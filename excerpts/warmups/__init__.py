"""Warm-ups: scales, arpeggios and more in any key, in range and rightly spelled, for an instrument and a level."""

from excerpts.warmups.build_warmup import plan_warmup, warmup
from excerpts.warmups.line import Plan
from excerpts.warmups.manner import Manner
from excerpts.warmups.patterns import PATTERNS, find_pattern
from excerpts.warmups.warmup_names import short_name, warmup_line, warmup_title

__all__ = [
    "PATTERNS",
    "Manner",
    "Plan",
    "find_pattern",
    "plan_warmup",
    "short_name",
    "warmup",
    "warmup_line",
    "warmup_title",
]
