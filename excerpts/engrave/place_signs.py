"""Where marks stand above and below their staff: as near to it as they can without running into anything.

The engraver sets marks without regard for their neighbours to the left and right, and drives words above a
stack of fingers far from their notes. Distances are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

from excerpts.engrave.movable_signs import MOVED, WORDS, MovableSign, Sheet
from excerpts.engrave.svg.rect import Rect

_WHITE = 0.4
"""White that a mark keeps from other ink when it is set anew, in staff spaces."""
_OFF_STAFF = 0.7
"""White that it keeps from its staff, in staff spaces."""
_OVERLAP = 0.1
"""Marks that run so many millimetres into other ink are set anew."""
_FRAME = 0.3
"""White that the frame of a rehearsal mark has at least, in millimetres."""
_BESIDE = 0.3
"""White between two dynamics that share a place, in staff spaces."""
_FAR = 5.0
"""Words further from their staff than so many staff spaces are brought nearer where that can be had."""
_ASIDE = 4.0
"""So many staff spaces they may move to the right for it."""
_WORTH = 1.2
"""One staff space aside must bring words so many staff spaces nearer."""


def clear_top(rect: Rect, mark: MovableSign, sheet: Sheet, others: Iterable[MovableSign]) -> float:
    """The top of a mark in the place next to its staff where it runs into nothing.

    Where there is no such place between its staff and the next one, it stays at its height.

    Args:
        rect: The mark's rectangle at the x where it is to stand.
        mark: The mark.
        sheet: The system.
        others: The marks that it must not run into.
    """
    above = sheet.above(mark)
    top, bottom = sheet.staff(mark)
    white, off = _WHITE * sheet.space, _OFF_STAFF * sheet.space
    around = list(others)
    y = top - off - rect.height if above else bottom + off
    while True:
        there = Rect(rect.left - white, y - white, rect.right + white, y + rect.height + white)
        hits = sheet.hits(there, around)
        if not hits:
            return y if sheet.between_staves(y, y + rect.height, mark) else rect.top
        # A hair further than the obstacle, so that no rounding can find it again.
        y = (
            min(t for t, _ in hits) - white - rect.height - 0.01
            if above
            else max(b for _, b in hits) + white + 0.01
        )


def stand(mark: MovableSign, sheet: Sheet, others: Iterable[MovableSign]) -> None:
    """Set a mark, at its x, as near to its staff as it goes."""
    mark.move(dy=clear_top(mark.rect, mark, sheet, others) - mark.rect.top)


def part_collisions(sheet: Sheet) -> None:
    """Set marks anew that run into notes, signs or marks; of two marks the one that may stand further off."""
    settled = [mark for mark in sheet.marks if mark.kind not in MOVED]
    for kind in ("dynam", "dir", "tempo", "reh"):
        for mark in sheet.of(kind):
            # A frame that all but touches a finger looks like a slip of the pen; letters do not.
            if sheet.hits(mark.rect.grown(_FRAME if kind == "reh" else -_OVERLAP), settled):
                if not _beside(mark, sheet, settled):
                    stand(mark, sheet, settled)
            settled.append(mark)


def _beside(mark: MovableSign, sheet: Sheet, settled: list[MovableSign]) -> bool:
    """Set a dynamic that stands on another one right of it, as "sf p" is written."""
    under = [it for it in settled if it.kind == mark.kind == "dynam" and it.rect.meets(mark.rect)]
    if not under:
        return False
    dx = max(it.rect.right for it in under) + _BESIDE * sheet.space - mark.rect.left
    if dx > _ASIDE * sheet.space or sheet.hits(mark.rect.moved(dx), settled):
        return False
    mark.move(dx)
    return True


def bring_near(sheet: Sheet) -> None:
    """Set words that a stack of fingers has driven far from the staff beside the stack."""
    for words in sheet.of(*WORDS):
        top, _ = sheet.staff(words)
        if not sheet.above(words) or top - words.rect.bottom < _FAR * sheet.space:
            continue
        others = [mark for mark in sheet.marks if mark is not words]
        best, dx, y = words.rect.top, 0.0, words.rect.top
        for half_spaces in range(int(2 * _ASIDE) + 1):
            aside = half_spaces * sheet.space / 2
            there = clear_top(words.rect.moved(aside), words, sheet, others)
            if there - aside * _WORTH > best + 0.01:
                best, dx, y = there - aside * _WORTH, aside, there
        words.move(dx, y - words.rect.top)
