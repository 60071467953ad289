"""The marks of a system find their places, one step after the other.

What belongs together is joined; then marks are set near their staff, off the box lines, inside the picture,
and last clear of one another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from excerpts.engrave.box_extent import BoxExtent
from excerpts.engrave.join_signs import join_dynamics, join_rehearsal, join_tempo
from excerpts.engrave.keep_inside import endings_off_sides, keep_inside, off_sides
from excerpts.engrave.movable_signs import MovableSign, Sheet
from excerpts.engrave.numerals import part_numerals
from excerpts.engrave.place_signs import bring_near, part_collisions
from excerpts.engrave.prepare import NoteRef
from excerpts.engrave.syllables import part_syllables
from excerpts.engrave.wrap import wrap_words

_SMALL_AND_LARGE = ("dynam", "dir", "tempo", "fing", "string", "syl", "harm")


def settle(
    sheet: Sheet,
    notes: Mapping[str, NoteRef],
    boxes: list[BoxExtent],
    boxed: Callable[[MovableSign, int], bool],
    right: float,
) -> None:
    """Set the marks of a system anew.

    Args:
        sheet: The system.
        notes: The notes of the excerpt by their ids, in the order of the file.
        boxes: The boxes that will be drawn.
        boxed: Whether a mark belongs to what is in the box of that index.
        right: Right end of the picture.
    """
    wrap_words(sheet, right)
    part_numerals(sheet, notes)
    join_dynamics(sheet)
    join_tempo(sheet)
    bring_near(sheet)
    endings_off_sides(sheet, boxes)
    off_sides(sheet, boxes, ("reh",), boxed, right)
    join_rehearsal(sheet, right)
    part_syllables(sheet)
    keep_inside(sheet, right)
    off_sides(sheet, boxes, _SMALL_AND_LARGE, boxed, right)
    part_collisions(sheet)
