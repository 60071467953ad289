"""String numerals over quick notes keep clear of one another.

A numeral that only repeats the one on the note before says nothing new and is left out where there is no
room for it; what still touches is set smaller, and if that is not enough a step further from the notes.
Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fontTools.misc.transform import Transform

from excerpts.engrave.movable_signs import MovableSign, Sheet
from excerpts.engrave.prepare import NoteRef
from excerpts.engrave.svg.rect import union

_GAP = 0.3
"""White between two numerals, in staff spaces."""
_ROW = 1.0
"""Numerals nearer to one another than so many staff spaces are seen as one row."""
_SMALLER = 0.78
"""How much smaller crowded numerals are set."""


def part_numerals(sheet: Sheet, notes: Mapping[str, NoteRef]) -> None:
    """Keep the string numerals of a system apart.

    Args:
        sheet: The system; numerals that are left out are removed from it.
        notes: The notes of the excerpt by their ids, in the order of the file.
    """
    if not sheet.of("string"):
        return
    _drop_repeats(sheet, _order(notes))
    crowded: list[MovableSign] = []
    for mark in sheet.of("string"):
        if _touching(mark, sheet, _GAP):
            # Its neighbours become smaller with it, so that one row has one size.
            crowded.extend([mark, *(m for m in _touching(mark, sheet, _ROW) if m.kind == "string")])
    for mark in dict.fromkeys(crowded):
        _shrink(mark)
    for mark in sheet.of("string"):
        for _ in sheet.marks:
            near = [other for other in _touching(mark, sheet, _GAP) if other.rect.left <= mark.rect.left]
            if not near:
                break
            rise = _GAP * sheet.space + 0.01
            if sheet.above(mark):
                mark.move(dy=min(other.rect.top for other in near) - rise - mark.rect.bottom)
            else:
                mark.move(dy=max(other.rect.bottom for other in near) + rise - mark.rect.top)


def _order(notes: Mapping[str, NoteRef]) -> dict[str, tuple[int, str, int]]:
    """Staff and voice of each note, and its place in them: chord notes share one, rests count."""
    found: dict[str, tuple[int, str, int]] = {}
    last: dict[tuple[int, str], tuple[object, int]] = {}
    for ident, note in notes.items():
        line = (note.staff, note.voice)
        when = (note.bar, note.onset, ident if note.grace else "")
        before, count = last.get(line, (None, -1))
        count += when != before
        last[line] = (when, count)
        found[ident] = (*line, count)
    return found


def _drop_repeats(sheet: Sheet, place: dict[str, tuple[int, str, int]]) -> None:
    """Leave out crowded numerals that repeat the numeral of the note just before."""
    before: MovableSign | None = None
    for mark in sheet.of("string"):
        if before is not None and _next(place.get(before.to.note), place.get(mark.to.note)):
            crowded = mark.rect.left - before.rect.right < _GAP * sheet.space
            if crowded and _same(before, mark):
                sheet.marks.remove(mark)
        before = mark


def _next(one: tuple[int, str, int] | None, other: tuple[int, str, int] | None) -> bool:
    return one is not None and other is not None and one[:2] == other[:2] and other[2] == one[2] + 1


def _same(one: MovableSign, other: MovableSign) -> bool:
    return [ink.outline for ink in one.inks] == [ink.outline for ink in other.inks]


def _touching(mark: MovableSign, sheet: Sheet, white: float) -> list[MovableSign]:
    """The other numerals and fingers that come nearer to a numeral than so many staff spaces."""
    around = mark.rect.grown(white * sheet.space)
    own = mark.to.note
    return [
        other
        for other in sheet.marks
        if other is not mark
        and other.kind in {"string", "fing"}
        and not (other.kind == "fing" and other.to.note == own)
        and around.meets(other.rect)
    ]


def _shrink(mark: MovableSign) -> None:
    """Set a numeral smaller, its foot and its middle where they were."""
    x, y = (mark.rect.left + mark.rect.right) / 2, mark.rect.bottom
    about = Transform(_SMALLER, 0.0, 0.0, _SMALLER, x * (1 - _SMALLER), y * (1 - _SMALLER))
    mark.inks = [replace(ink, map=about.transform(ink.map)) for ink in mark.inks]
    mark.rect = union(ink.rect for ink in mark.inks)
