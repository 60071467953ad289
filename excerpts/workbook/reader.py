"""Who the pages are for: sizes, page budget and habits by age and level."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from excerpts.editions import Edition
from excerpts.weekfile.model import OLDEST_CIRCLES

OLDEST_CHILD = 8
"""Up to this age a workbook has large print and few words."""

LARGER_PRINT_FROM = 65
"""From this age on the print is a little larger; a teacher can set the staff height for anybody."""


@dataclass(frozen=True, slots=True)
class Reader:
    """Sizes and habits of one player's pages.

    Attributes:
        print: Which print the pages are set in; the name of a style sheet for all but "standard".
        child: Few words, big circles, a line for the grown-up.
        circles: Clean runs are kept by circles to colour.
        staff_mm: Height of the staff.
        most_pages: Pages that are plenty.
        row_mm: Height of a row to write in.
    """

    print: Literal["standard", "larger", "child"]
    child: bool
    circles: bool
    staff_mm: float
    most_pages: int
    row_mm: float = 7.2


def reader(level: str, age: int | None, staff_mm: float | None = None) -> Reader:
    """The reader of that level and age.

    Staff heights: 9.2 mm for the youngest, 7.5 for a stand (engravers' sizes 0 and 2); 8 for those from 65 on.
    A grown-up in the first year is no child: only the youngest, and first-year players without an age,
    get the child's pages.
    """
    child = age <= OLDEST_CHILD if age is not None else level == "first"
    circles = age <= OLDEST_CIRCLES if age is not None else level == "first"
    if child:
        return Reader("child", True, True, staff_mm or 9.2, 3)
    if age is not None and age >= LARGER_PRINT_FROM:
        return Reader("larger", False, False, staff_mm or 8.0, 8, 8.5)
    return Reader("standard", False, circles, staff_mm or (8.0 if circles else 7.5), 8)


def fitting(kind: Reader, size: Edition) -> Reader:
    """The reader with staves and rows as high as the edition has them."""
    return replace(kind, staff_mm=size.staff(kind.staff_mm), row_mm=max(kind.row_mm, size.row))
