"""Lines cut out of a printed page as pictures in greys, for a browser."""

from __future__ import annotations

from base64 import b64encode
from functools import lru_cache
from typing import Final

from excerpts.errors import PaperError
from excerpts.system.child import Child, ChildDiedError
from excerpts.workbook.paper_image import DrawnPaper
from excerpts.workbook.render import lay_out_text, write_pdf

_DOTS: Final = 10
"""Pixels to a millimetre: a telephone that shows 72 mm has about 11 of its own."""

_MEGABYTES: Final = 1_500
_SECONDS: Final = 20


@lru_cache(maxsize=1)
def _child() -> Child:
    return Child("excerpts.player_page.raster_child", megabytes=_MEGABYTES, heard=False)


def paper_picture(line: DrawnPaper, what: str) -> str:
    """A line with the box round it, as the address of a PNG.

    Args:
        line: The line.
        what: What it is, for messages.

    Raises:
        PaperError: It cannot be drawn.
    """
    size = f"width:{line.width_mm:.3f}mm;height:{line.height_mm:.3f}mm"
    rules = (
        f"@page{{size:{line.width_mm:.3f}mm {line.height_mm:.3f}mm;margin:0}}body{{margin:0}}"
        f"img{{display:block;{size}}}"
    )
    page = '<html lang="en"><head><title>a</title></head><body><img src="paper:1" alt=""/></body></html>'
    document = lay_out_text(page, images={"paper:1": line}, styles=(), page_rules=rules)
    pdf = write_pdf(document, tagged=False)
    try:
        (png,) = _child().ask(str(round(_DOTS * line.width_mm)).encode(), pdf, seconds=_SECONDS)
    except ChildDiedError as error:
        raise PaperError(f"drawing it {error.reason}.", where=what) from error
    return f"data:image/png;base64,{b64encode(png).decode()}"
