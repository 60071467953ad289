"""Words that are longer than a line of music go on in a second line of text; lines that go on end at its end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Final

from fontTools.misc.transform import Transform

from excerpts.engrave.movable_signs import WORDS, MovableSign, Sheet, moved
from excerpts.engrave.svg.ink import Ink
from excerpts.engrave.svg.paths import magnification
from excerpts.engrave.svg.rect import union

_SPACE: Final = 0.16
"""White between two letters that parts words, in em: the space of the text face is 0.25."""
_LINE: Final = 1.15
"""From line to line, in em."""
_RUNNING: Final = frozenset({"extender"})
"""Lines that may end where the picture ends: the engraver draws them past the last barline."""


def wrap_words(sheet: Sheet, width: float) -> None:
    """Set words that are wider than the picture in lines, one over the other; a word wider than that is broken.

    Args:
        sheet: The system.
        width: Width of the picture in millimetres.
    """
    for mark in sheet.of(*WORDS):
        if mark.rect.right - mark.rect.left > width and all(ink.paint.fill for ink in mark.inks):
            _wrap(mark, width, above=sheet.above(mark))


def _wrap(mark: MovableSign, width: float, *, above: bool) -> None:
    lines = _lines(mark.inks, width)
    step = _LINE * max(magnification(ink.map) for ink in mark.inks)
    left = mark.rect.left
    set_: list[Ink] = []
    for place, line in enumerate(lines):
        dx = left - line[0].rect.left
        dy = (place - len(lines) + 1) * step if above else place * step
        set_ += [moved(ink, dx, dy) for ink in line]
    mark.inks = set_
    mark.rect = union(ink.rect for ink in set_)


def _lines(inks: list[Ink], width: float) -> list[list[Ink]]:
    lines: list[list[Ink]] = [[]]
    for word in _words(inks):
        if lines[-1] and word[-1].rect.right - lines[-1][0].rect.left > width:
            lines.append([])
        for ink in word:
            if lines[-1] and ink.rect.right - lines[-1][0].rect.left > width:
                lines.append([])
            lines[-1].append(ink)
    return lines


def _words(inks: list[Ink]) -> Iterator[list[Ink]]:
    word = inks[:1]
    for before, ink in pairwise(inks):
        if ink.rect.left - before.rect.right > _SPACE * magnification(ink.map):
            yield word
            word = []
        word.append(ink)
    yield word


def ended_inside(ink: Ink, right: float) -> Ink:
    """A line that runs past the end of the picture, ended there; any other ink as it is."""
    rect = ink.rect
    if ink.owner.kind not in _RUNNING or rect.right <= right or rect.left >= right:
        return ink
    scale = (right - rect.left) / (rect.right - rect.left)
    return replace(ink, map=Transform(xx=scale, dx=rect.left * (1 - scale)).transform(ink.map))
