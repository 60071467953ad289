"""Words that run past the right end of the picture, or into a box, move left as a copyist would set them."""

from __future__ import annotations

from dataclasses import replace

from excerpts.engrave.geometry import union
from excerpts.engrave.ink import Ink
from excerpts.engrave.paths import Map
from excerpts.engrave.spans import Span

_BEFORE_BOX = 0.8
"""White between words and the side of a box that follows, in millimetres."""
_WORDS = frozenset({"dir", "tempo", "dynam", "reh", "harm", "syl", "ending", "fing", "repeatMark"})


def keep_inside(inks: list[Ink], right: float) -> list[Ink]:
    """Move words that reach past `right` left, each word or mark as a whole; other ink stays."""
    late = {_group(ink) for ink in inks if ink.owner.kind in _WORDS and ink.rect.right > right}
    if not late:
        return inks
    shifts = {group: right - union(ink.rect for ink in inks if _group(ink) == group).right for group in late}
    return [_shifted(ink, shifts.get(_group(ink), 0.0)) for ink in inks]


def keep_out(inks: list[Ink], spans: list[Span]) -> list[Ink]:
    """Move words that begin before a box and run into it left of it, where there is room for them."""
    for span in spans:
        for group in {_group(ink) for ink in inks if ink.owner.kind in {"dir", "tempo"}}:
            words = [ink for ink in inks if _group(ink) == group]
            rect = union(ink.rect for ink in words)
            dx = span.left - _BEFORE_BOX - rect.right
            if not rect.left < span.left < rect.right + _BEFORE_BOX or rect.left + dx < 0:
                continue
            there = rect.moved(dx=dx)
            if not any(there.meets(ink.rect) for ink in inks if _group(ink) != group):
                inks = [_shifted(ink, dx if _group(ink) == group else 0.0) for ink in inks]
    return inks


def _group(ink: Ink) -> tuple[str, str, str]:
    return ink.owner.kind, ink.owner.origin, ink.owner.note


def _shifted(ink: Ink, dx: float) -> Ink:
    if not dx:
        return ink
    m = ink.map
    return replace(ink, map=Map(m.a, m.b, m.c, m.d, m.e + dx, m.f))
