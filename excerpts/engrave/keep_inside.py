"""Keeps signs inside the picture and off the sides of the boxes, and syllables clear of one another.

Words that are wider than the picture go on in a second line of text; lines that run past its edge end there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from math import inf
from typing import Final

from fontTools.misc.transform import Transform

from excerpts.engrave.box_extent import BoxExtent
from excerpts.engrave.movable_signs import MOVED, WORDS, MovableSign, Sheet, clear_top, moved
from excerpts.engrave.svg.ink import Ink, heights
from excerpts.engrave.svg.paths import magnification
from excerpts.engrave.svg.rect import union

_TOUCHES = 0.36
"""A mark so near to the side of a box, in millimetres, would break it."""
_BESIDE = 1.5
"""White between words and the side of a box, in millimetres."""
_OFF = 0.5
"""White between other marks and the side of a box, in millimetres."""
_FURTHER = 4.0
"""So many staff spaces further from the staff words may stand to end before a box."""
_INTO_BOX = 6.0
"""So many staff spaces words may move to the left to stay inside their box."""
_NUDGE = 1.2
"""So many staff spaces a finger or a syllable may move off the side of a box."""
_OUTSIDE = 0.8
"""White between a box with its label and number and the words outside it, in millimetres."""


def keep_inside(sheet: Sheet, right: float) -> None:
    """Move marks that reach past the ends of the picture back into it."""
    for mark in sheet.marks:
        if mark.rect.right > right:
            mark.move(right - mark.rect.right)
            if mark.kind == "syl":
                push_left(mark, sheet)
        elif mark.rect.left < 0.0 and mark.kind in MOVED:
            mark.move(-mark.rect.left)


def off_sides(
    sheet: Sheet,
    spans: list[BoxExtent],
    kinds: Iterable[str],
    boxed: Callable[[MovableSign, int], bool],
    right: float,
) -> None:
    """Move marks that stand on the side of a box to the side that they belong to.

    Words that have no room there are marked to stand outside the box, above or below it.

    Args:
        sheet: The system.
        spans: The boxes.
        kinds: What kinds of marks to move.
        boxed: Whether a mark belongs to what is in the box of that index.
        right: Right end of the picture.
    """
    for span in spans:
        for mark in sheet.of(*kinds):
            mine = boxed(mark, span.box)
            if not span.open_left and _on(mark, span.left):
                if mine:
                    _begin_after(mark, span.left, sheet, right)
                else:
                    _end_before(mark, span.left, sheet)
            if not span.open_right and _on(mark, span.right):
                if not mine:
                    _begin_after(mark, span.right, sheet, right)
                else:
                    _end_inside(mark, span, sheet)


def _on(mark: MovableSign, x: float) -> bool:
    """Whether a mark stands on the side of a box, or words end so near to it that they run into its label."""
    near = _BESIDE if mark.kind in WORDS else _TOUCHES
    return not mark.outside and mark.rect.left - _TOUCHES < x < mark.rect.right + near


def endings_off_sides(sheet: Sheet, spans: list[BoxExtent]) -> None:
    """Let the brackets of endings begin just right of a box line that stands on the same barline."""
    for mark in sheet.of("ending"):
        for x in [x for span in spans for x in _closed(span)]:
            if abs(mark.rect.left - x) < 2 * _TOUCHES:
                _shorten(mark, x + _OFF)


def _closed(span: BoxExtent) -> list[float]:
    sides = ((span.left, span.open_left), (span.right, span.open_right))
    return [x for x, is_open in sides if not is_open]


def _shorten(mark: MovableSign, left: float) -> None:
    """Let a bracket begin at another x and end where it ended; its number goes with its beginning."""
    right = mark.rect.right
    scale = (right - left) / (right - mark.rect.left)
    squeeze = Transform(xx=scale, dx=right * (1 - scale))
    dx = left - mark.rect.left
    mark.inks = [
        moved(ink, dx) if ink.paint.fill else replace(ink, map=squeeze.transform(ink.map))
        for ink in mark.inks
    ]
    mark.rect = union(ink.rect for ink in mark.inks)


def _begin_after(mark: MovableSign, x: float, sheet: Sheet, right: float) -> None:
    """Let a mark begin right of a box line; what belongs to one note moves only where there is room."""
    dx = x + _OFF - mark.rect.left
    there = mark.rect.moved(dx)
    if there.right > right:
        return
    if mark.kind not in MOVED:
        others = sheet.but(mark)
        if dx > _NUDGE * sheet.space or sheet.hits(there, others):
            return
    mark.move(dx)


def _end_before(mark: MovableSign, x: float, sheet: Sheet) -> None:
    """Let a mark of the bars before a box end before it, if need be higher, else outside the box."""
    dx = x - (_BESIDE if mark.kind in WORDS else _OFF) - mark.rect.right
    there = mark.rect.moved(dx)
    if there.left >= 0.0 and (mark.kind in MOVED or -dx <= _NUDGE * sheet.space):
        others = [other for other in sheet.but(mark) if not other.outside]
        if not sheet.hits(there, others):
            mark.move(dx)
            return
        y = clear_top(there, mark, sheet, others) if mark.kind in MOVED else inf
        if abs(y - there.top) <= _FURTHER * sheet.space:
            mark.move(dx, y - there.top)
            return
    _put_outside(mark, sheet)


def _end_inside(mark: MovableSign, span: BoxExtent, sheet: Sheet) -> None:
    """Let a mark of a box end inside it, else stand outside the box."""
    dx = span.right - (_BESIDE if mark.kind in WORDS else _OFF) - mark.rect.right
    there = mark.rect.moved(dx)
    others = [other for other in sheet.but(mark) if not other.outside]
    furthest = _INTO_BOX if mark.kind in MOVED else _NUDGE
    fits = there.left > (0.0 if span.open_left else span.left + _OFF) and -dx <= furthest * sheet.space
    if fits and not sheet.hits(there, others):
        mark.move(dx)
    elif fits and mark.kind in MOVED:
        mark.move(dx, clear_top(there, mark, sheet, others) - there.top)
    else:
        _put_outside(mark, sheet)


def _put_outside(mark: MovableSign, sheet: Sheet) -> None:
    """Words over the first or under the last staff can leave the box; what stands between staves cannot."""
    edge = sheet.staves[0] if sheet.above(mark) else sheet.staves[-1]
    mark.outside = mark.kind in MOVED and sheet.staff(mark) == edge


def set_outside(sheet: Sheet, taken: list[Ink]) -> list[Ink]:
    """Set the marks that are to stand outside the boxes, clear of all other ink.

    Args:
        sheet: The system.
        taken: The ink of the music, the boxes and the bar numbers.

    Returns:
        The ink of these marks.
    """
    placed: list[Ink] = []
    for mark in [mark for mark in sheet.marks if mark.outside]:
        reach = heights([*taken, *placed], mark.rect.left - _OUTSIDE, mark.rect.right + _OUTSIDE)
        if reach is not None:
            above = sheet.above(mark)
            mark.move(
                dy=reach[0] - _OUTSIDE - mark.rect.bottom if above else reach[1] + _OUTSIDE - mark.rect.top
            )
        placed.extend(mark.inks)
    return placed


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


_BETWEEN = 0.3
"""White between two syllables that had to move, in staff spaces."""
_FURTHEST = 1.0
"""So many staff spaces a syllable may move from its note to make room for the next."""


def part_syllables(sheet: Sheet) -> None:
    """Move two syllables that overlap apart, each half the way, where their other neighbours allow it."""
    for line in _sung_lines(sheet):
        for one, other in pairwise(line):
            half = (one.rect.right + _BETWEEN * sheet.space - other.rect.left) / 2
            if not 0.5 * _BETWEEN * sheet.space < half < _FURTHEST * sheet.space:
                continue
            rest = sheet.but(one, other)
            if not sheet.hits(one.rect.moved(-half), rest) and not sheet.hits(other.rect.moved(half), rest):
                one.move(-half)
                other.move(half)


def push_left(syllable: MovableSign, sheet: Sheet) -> None:
    """Let the syllables before one that had to move left give way to it."""
    line = next((line for line in _sung_lines(sheet) if syllable in line), [])
    for other in reversed([mark for mark in line if mark.rect.left < syllable.rect.left]):
        over = other.rect.right + _BETWEEN * sheet.space - syllable.rect.left
        if over > 0:
            other.move(-over)
        syllable = other


def _sung_lines(sheet: Sheet) -> list[list[MovableSign]]:
    """The syllables that share a baseline, from left to right."""
    lines: dict[float, list[MovableSign]] = {}
    for mark in sheet.of("syl"):
        lines.setdefault(round(mark.baseline, 1), []).append(mark)
    return list(lines.values())
