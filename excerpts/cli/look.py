"""How a sheet is to look: its paper and its words, as `cut`, `warmup` and `annotate` take them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Self, cast

from excerpts.words import Words

if TYPE_CHECKING:
    from excerpts.engrave import Style
    from excerpts.workbook.editions import EditionName


@dataclass(frozen=True, slots=True)
class Look:
    """Paper and words of a sheet.

    Attributes:
        paper: The paper.
        words: The words.
        staff_mm: Height of its staves, where it is not the usual one.
        paged: Its music goes on pages, which are no higher than they are; a picture is as high as it comes.
    """

    paper: EditionName = "a4"
    words: Words = field(default_factory=Words)
    staff_mm: float | None = None
    paged: bool = True

    def on(self, suffix: str) -> Self:
        """The same in a file with this ending."""
        return replace(self, paged=suffix == ".pdf")

    def style(self, **choices: Any) -> Style:
        """The style of its music: as wide as the text, no line higher than a page, the staves as the width allows.

        Args:
            choices: What else the style is to say.
        """
        from excerpts.engrave import Style
        from excerpts.workbook.editions import edition

        size, usual = edition(self.paper), Style()
        staff = min(self.staff_mm or usual.staff_mm, size.most_staff)
        highest = size.music_height if self.paged else 0.0
        return Style(width_mm=size.text_width, staff_mm=staff, height_mm=highest, **choices)


def look(paper: str | None, words: str | None) -> Look:
    """The look that the options ask for."""
    return Look(cast("EditionName", paper or "a4"), Words(words or "uk"))
