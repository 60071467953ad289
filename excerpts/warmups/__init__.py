"""Warm-ups: scales and arpeggios in any key, in range and rightly spelled, for an instrument and a level."""

from excerpts.warmups.build import plan_warmup, warmup
from excerpts.warmups.line import Plan
from excerpts.warmups.names import warmup_title
from excerpts.warmups.pitches import PATTERNS

__all__ = ["PATTERNS", "Plan", "plan_warmup", "warmup", "warmup_title"]
