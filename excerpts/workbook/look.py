"""How a sheet is to look: its paper and its words, as `cut`, `warmup` and `annotate` take them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Self, cast

from excerpts.editions import Edition, EditionName, edition
from excerpts.words import Words

if TYPE_CHECKING:
    from excerpts.engrave import Style


@dataclass(frozen=True, slots=True)
class Look:
    """Paper and words of a sheet.

    Attributes:
        size: The paper.
        words: The words.
        staff_mm: Height of its staves, where it is not the usual one.
        paged: Its music goes on pages, which are no higher than they are; a picture is as high as it comes.
    """

    size: Edition = field(default_factory=lambda: edition("a4"))
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

        style = Style.on(self.size, self.staff_mm)
        return replace(style, height_mm=style.height_mm if self.paged else 0.0, **choices)


def look(paper: str | None, words: str | None) -> Look:
    """The look that the options ask for."""
    return Look(edition(cast("EditionName", paper or "a4")), Words(words or "uk"))
