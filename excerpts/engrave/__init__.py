"""Engraving: an excerpt becomes SVG with its box and greyed context, and tells where its music stands."""

from __future__ import annotations

from excerpts.engrave.alt_text import Spoken
from excerpts.engrave.complete import Missing
from excerpts.engrave.engraving import Engraving
from excerpts.engrave.finish_system import System
from excerpts.engrave.fit import engrave
from excerpts.engrave.geometry import BarEdges, Geometry, NoteHead, StaffLines, SystemGeometry
from excerpts.engrave.overlay import Boxed, Overlay, cut_points, overlay
from excerpts.engrave.places import BarPlace, BoxPlace, NotePlace
from excerpts.engrave.stack import picture, stack_svg
from excerpts.engrave.style import Style
from excerpts.engrave.svg.rect import Rect

__all__ = [
    "BarEdges",
    "BarPlace",
    "Boxed",
    "BoxPlace",
    "Engraving",
    "Geometry",
    "Missing",
    "NoteHead",
    "NotePlace",
    "Overlay",
    "Rect",
    "Spoken",
    "StaffLines",
    "Style",
    "System",
    "SystemGeometry",
    "cut_points",
    "engrave",
    "overlay",
    "picture",
    "stack_svg",
]
