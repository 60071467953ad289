"""Last touches to a PDF: page labels, where figures stand, shapes, and who made it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from hashlib import md5
from typing import TYPE_CHECKING, Any, Final

import pydyf

from excerpts.musicxml.format import SOFTWARE
from excerpts.workbook.paper_form import share_paper
from excerpts.workbook.shared_shapes import share_shapes

if TYPE_CHECKING:
    from weasyprint import Document

POINTS_PER_PX = 0.75
_XREF: Final = re.compile(rb"\d+ 0 obj\n<</Type /XRef")
_START: Final = re.compile(rb"\nstartxref\n(\d+)\n%%EOF\n\Z")


def finish(document: Document, pdf: Any, facts: Mapping[str, str]) -> None:
    """Add to a PDF what WeasyPrint has no option for.

    Args:
        document: The document that it was written from.
        pdf: The PDF, as `pydyf` holds it.
        facts: Entries of our own for its information dictionary (ISO 32000-2, 14.3.3, which allows them).
    """
    for name, value in facts.items():
        pdf.info[name] = pydyf.String(value)
    label_pages(pdf)
    place_figures(pdf, document.pages[0].height * POINTS_PER_PX)
    share_shapes(pdf)
    share_paper(pdf)


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


def identified(pdf: bytes) -> bytes:
    """A PDF with its identifier (ISO 32000-2, 14.4): who made it, and a digest of what it holds.

    pydyf would write everything a second time to find the digest. The dictionary of the cross-reference stream is the
    last thing in the file, so that nothing else moves.

    Args:
        pdf: The file as pydyf wrote it, with a cross-reference stream.
    """
    start = _START.search(pdf, len(pdf) - 64)
    xref = _XREF.match(pdf, int(start[1])) if start else None
    assert xref is not None, "pydyf ends a file with its cross-reference stream"
    digest = md5(pdf, usedforsecurity=False).hexdigest()
    return pdf[: xref.end()] + f"/ID [({SOFTWARE}) ({digest})]".encode() + pdf[xref.end() :]
