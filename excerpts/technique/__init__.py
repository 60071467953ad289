"""Technique from the music itself: drills on what is hard in a box, taken out of it and made slow."""

from excerpts.technique.drills import Drill, DrillKind, drills

__all__ = ["Drill", "DrillKind", "drills"]
