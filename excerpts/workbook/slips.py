"""Prints a list of scales as slips to cut out and draw from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from excerpts.editions import Edition, edition
from excerpts.warmups import short_name
from excerpts.weekfile.scale_list import ListedScale
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.render import lay_out, write_pdf


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip.

    Attributes:
        name: What is to be played ("D major scale, two octaves").
        how: Bowing and tempo; "" where the list tells none.
        heard: When it was heard; "" while it is to be learned.
    """

    name: str
    how: str
    heard: str


def slip_of(scale: ListedScale, words: Words) -> Slip:
    """Put a scale of a list on a slip.

    Args:
        scale: The scale.
        words: Texts of the player.
    """
    name = short_name(scale.key or "", scale.pattern, words, whole=True) if scale.key else scale.text or ""
    if scale.octaves:
        name = words("warmup.title", name=name, octaves=words(f"warmup.octaves_{scale.octaves}"))
    item = scale.warmup
    how = [tempo_text(item.tempo, words)] if item.tempo else []
    if item.slur:
        message = "separate" if item.slur == 1 else "bowing"
        how.insert(0, words(f"warmup.slip.{message}", count=item.slur))
    return Slip(name, " · ".join(how), _heard(scale.heard, words))


def _heard(day: date | None, words: Words) -> str:
    return words("warmup.slip.heard", date=Dates(PageTexts(words)).day(day)) if day else ""


def build_slips(
    scales: Sequence[ListedScale], *, size: Edition | None = None, words: Words | None = None
) -> bytes:
    """Print a slip for each scale.

    Args:
        scales: The scales, in the order of their list.
        size: The edition; A4 where it is left out.
        words: Texts of the player.

    Returns:
        The PDF.
    """
    words = words or Words()
    title = words("warmup.slip.heading")
    document = lay_out(
        "slips.html",
        images={},
        styles=("page.css", "slips.css"),
        page_rules=(size or edition("a4")).page_rules,
        slips=[slip_of(scale, words) for scale in scales],
        title=title,
        author=words("workbook.author"),
        footer=title,
        language=words.tag,
    )
    return write_pdf(document)
