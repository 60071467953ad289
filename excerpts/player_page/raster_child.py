"""A process that turns a page of a PDF into a picture of 16 greys, which a hostile file cannot leave."""

from __future__ import annotations

import sys
from io import BytesIO
from typing import Final

import pypdfium2 as pdfium

from excerpts.system.child.serve import serve

_GREYS: Final = 16


def rastered(pdf: bytes, width: int) -> bytes:
    """The first page of a PDF as a PNG.

    Args:
        pdf: The PDF.
        width: How many pixels wide it is to be.
    """
    document = pdfium.PdfDocument(pdf)
    page = document[0]
    picture = page.render(scale=width / page.get_width(), grayscale=True).to_pil().convert("L")
    memory = BytesIO()
    picture.quantize(_GREYS, dither=0).save(memory, "PNG", optimize=True)
    return memory.getvalue()


def _answer(parts: list[bytes]) -> list[bytes]:
    width, pdf = parts
    return [rastered(pdf, int(width))]


if __name__ == "__main__":
    serve(_answer, sys.argv[1:])
