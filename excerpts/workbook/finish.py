"""Last touches to a PDF before it is written: page labels, where figures stand, and packing."""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING, Any

import pydyf

if TYPE_CHECKING:
    from weasyprint import Document

POINTS_PER_PX = 0.75


def finish(document: Document, pdf: Any) -> None:
    """Add to a PDF what WeasyPrint has no option for.

    Args:
        document: The document that it was written from.
        pdf: The PDF, as `pydyf` holds it.
    """
    label_pages(pdf)
    place_figures(pdf, document.pages[0].height * POINTS_PER_PX)
    pack(pdf)


def label_pages(pdf: Any) -> None:
    """Number the pages as they are printed (ISO 32000-2, 12.4.2): a viewer then says the number at the foot."""
    decimal = pydyf.Dictionary({"S": "/D", "St": 1})
    pdf.catalog["PageLabels"] = pydyf.Dictionary({"Nums": pydyf.Array([0, decimal])})


def place_figures(pdf: Any, height: float) -> None:
    """Give the place of figures from the bottom left corner in points (ISO 32000-2, table 379, BBox).

    WeasyPrint 70 writes it from the top left corner in CSS pixels.
    """
    for element in pdf.objects:
        if not isinstance(element, pydyf.Dictionary) or element.get("S") != "/Figure":
            continue
        left, top, right, bottom = (float(value) * POINTS_PER_PX for value in element["A"]["BBox"])
        element["A"]["BBox"] = pydyf.Array([left, height - bottom, right, height - top])


def pack(pdf: Any) -> None:
    """Compress the streams of a PDF (ISO 32000-2, 7.4.4) now, and once.

    pydyf compresses each when it writes it, and once more for the file's identifier, as hard as can be: four times the
    work of zlib's usual level, for a file that is a hundredth smaller.
    """
    for stream in pdf.objects:
        if isinstance(stream, pydyf.Stream) and stream.compress:
            stream.compress = False
            plain = stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
            stream.stream = [zlib.compress(plain)]
            stream.extra["Filter"] = "/FlateDecode"
