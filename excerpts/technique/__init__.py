"""Technique from the music itself: drills on what is hard in a box, taken out of it and made slow."""

from excerpts.technique.drills import Drill, DrillKind, drills
from excerpts.technique.useful import few_useful_bars

__all__ = ["Drill", "DrillKind", "drills", "few_useful_bars"]
