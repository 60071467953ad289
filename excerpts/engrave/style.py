"""How an excerpt is to look: sizes in millimetres, greys, box and numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Self

from excerpts.editions import Edition

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True, slots=True)
class Style:
    """Sizes and choices of one engraving; everything that is the same for box and variants of one reader.

    Attributes:
        width_mm: Width of the text column that the systems fill.
        staff_mm: Height of a five-line staff from the middle of its top line to the middle of its bottom
            line. Common practice: about 7 for one player, 7.5 to 8 on a stand, 9 and more for the young.
        ink: Colour of what is to be played.
        context: Colour of what is there to be read only; #686868 has a contrast of 5.6:1 on white and of 4.6:1 on the
            darkest ground of a page.
        grey_context: Print what lies outside all boxes in the context colour.
        draw_box: Draw the boxes with their labels.
        box_line_pt: Thickness of the box line in points.
        box_clear_mm: White between the box line and the nearest ink above and below.
        bar_numbers: Where bar numbers stand: at the start of each system and of each box, at every bar,
            or nowhere.
        justify_up_to: How far an only system may be stretched over its natural width; a shorter one ends
            early instead.
        height_mm: The highest that a system may be; 0 where nothing limits it.
        inset_mm: Extra white between the staves and the left and right edges of the picture.
        upright: No letters are italic.
        long_rests: Bars of rest that follow one another are one sign.
    """

    width_mm: float = 180.0
    staff_mm: float = 7.5
    ink: str = "#000000"
    context: str = "#686868"
    grey_context: bool = True
    draw_box: bool = True
    box_line_pt: float = 0.7
    box_clear_mm: float = 1.0
    bar_numbers: Literal["system", "every", "none"] = "system"
    justify_up_to: float = 1.35
    height_mm: float = 0.0
    inset_mm: tuple[float, float] = (0.0, 0.0)
    upright: bool = False
    long_rests: bool = False

    @classmethod
    def on(cls, size: Edition, staff_mm: float | None = None) -> Self:
        """The style of music on the pages of an edition: as wide as the text, no line higher than a page.

        Args:
            size: The edition, which says how high the staves may be.
            staff_mm: Height of the staff, where it is not the usual one.
        """
        staff = size.staff(staff_mm or cls().staff_mm)
        return cls(size.text_width, staff, height_mm=size.music_height, upright=size.alone)

    @property
    def box_line_mm(self) -> float:
        """Thickness of the box line in millimetres."""
        return self.box_line_pt * MM_PER_POINT
