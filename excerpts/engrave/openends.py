"""Ties, slurs and hairpins that the cut left open, drawn up to the edge of the excerpt."""

from __future__ import annotations

from excerpts.engrave.flatten import RawSystem
from excerpts.engrave.ink import Ink
from excerpts.engrave.places import BarPlace, NotePlace
from excerpts.engrave.style import Style
from excerpts.excerpt import Excerpt


def open_curves(
    excerpt: Excerpt,
    bars: list[BarPlace],
    notes: list[NotePlace],
    raw: RawSystem,
    style: Style,
    *,
    last: bool,
) -> list[Ink]:
    """Draw what of the open ends shows on one system."""
    return []
