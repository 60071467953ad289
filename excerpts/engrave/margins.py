"""Words that run past the right end of the picture move left, as a copyist would set them."""

from __future__ import annotations

from dataclasses import replace

from excerpts.engrave.geometry import union
from excerpts.engrave.ink import Ink
from excerpts.engrave.paths import Map

_WORDS = frozenset({"dir", "tempo", "dynam", "reh", "harm", "syl", "ending", "fing", "repeatMark"})


def keep_inside(inks: list[Ink], right: float) -> list[Ink]:
    """Move words that reach past `right` left, each word or mark as a whole; other ink stays."""
    late = {_group(ink) for ink in inks if ink.owner.kind in _WORDS and ink.rect.right > right}
    if not late:
        return inks
    shifts = {group: right - union(ink.rect for ink in inks if _group(ink) == group).right for group in late}
    return [_shifted(ink, shifts.get(_group(ink), 0.0)) for ink in inks]


def _group(ink: Ink) -> tuple[str, str, str]:
    return ink.owner.kind, ink.owner.origin, ink.owner.note


def _shifted(ink: Ink, dx: float) -> Ink:
    if not dx:
        return ink
    m = ink.map
    return replace(ink, map=Map(m.a, m.b, m.c, m.d, m.e + dx, m.f))
