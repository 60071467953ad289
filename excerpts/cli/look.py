"""How a sheet is to look: its paper and its words, as `cut`, `warmup` and `annotate` take them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

import typer

from excerpts.words import Words, choices

if TYPE_CHECKING:
    from excerpts.engrave import Style
    from excerpts.workbook.editions import EditionName

PAPERS: Final = ("a4", "letter", "phone")
"""What a sheet can be printed on; a workbook can be a booklet besides."""

PAPER_OPTION: Final[Any] = typer.Option("--paper", help="For .pdf: a4, letter or phone.")
WORDS_OPTION: Final[Any] = typer.Option(
    "--words", help=f"Words to print in: {', '.join(choices())}.", show_default="uk"
)


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
    """The look that the options ask for.

    Raises:
        BadParameter: There is no such paper, or no such file of words.
    """
    named: Any = chosen(paper or "a4", PAPERS, "--paper")
    return Look(named, Words(chosen(words or "uk", choices(), "--words")))


def chosen(text: str, allowed: Sequence[str], option: str) -> str:
    """One of the words that an option takes.

    Raises:
        BadParameter: It is another word.
    """
    if text in allowed:
        return text
    raise typer.BadParameter(f"'{text}' is none of {', '.join(allowed)}", param_hint=option)
