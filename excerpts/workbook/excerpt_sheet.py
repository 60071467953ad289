"""Prints excerpts one under the other, each with its heading: a sheet without a week around it."""

from __future__ import annotations

from collections.abc import Sequence

from excerpts.editions import Edition, edition
from excerpts.engrave import Engraving
from excerpts.words import Words
from excerpts.workbook.page_names import LONGEST_FOCUS, shortened
from excerpts.workbook.pages import MusicBlock
from excerpts.workbook.paper_image import DrawnPaper
from excerpts.workbook.render import lay_out, write_pdf
from excerpts.workbook.render_cache import as_printed
from excerpts.workbook.workbook_music import Pictures


def build_sheet(
    blocks: Sequence[tuple[str, str, Engraving | None]],
    *,
    size: Edition | None = None,
    title: str = "",
    words: Words | None = None,
    copied: bool = True,
    pages: Sequence[tuple[str, DrawnPaper]] = (),
) -> bytes:
    """Print engravings on as few pages as they take; one that fits a page is not split.

    Args:
        blocks: Heading, a grey line under it ("" for none), and the engraving of each; None for words alone.
        size: The edition; A4 where it is left out.
        title: Title of the document; "Practice sheet" where it is left out.
        words: Texts of the player.
        pages: Printed pages that come after them, each with its heading.
        copied: The music is cut out of scores, so that a word on copying stands under it.

    Returns:
        The PDF.
    """
    words, size = words or Words(), size or edition("a4")
    pictures = Pictures(words)
    sheet = [
        MusicBlock(head, line, pictures.of(as_printed(engraving), head) if engraving is not None else ())
        for head, line, engraving in blocks
    ]
    sheet += [MusicBlock(head, "", pictures.of_paper([page], head)) for head, page in pages]
    named = title or words("sheet.title")
    document = lay_out(
        "sheet.html",
        images=dict(pictures.images),
        styles=("page.css", "sheet.css", *size.styles),
        page_rules=size.page_rules,
        sheet=sheet,
        title=named,
        author=words("workbook.author"),
        footer=shortened(named, LONGEST_FOCUS),
        copying=words("workbook.copying") if copied else "",
        language=words.tag,
        reader=None,
        t=words,
    )
    logged = [line for _, _, engraving in blocks if engraving is not None for line in engraving.log]
    return write_pdf(document, music=logged)
