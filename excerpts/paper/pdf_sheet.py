"""A page of a PDF: cut as it is drawn where that can be done whole, as pixels where it is a scan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from typing import Final

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pypdfium2.raw as raw
from numpy.typing import NDArray

from excerpts.errors import PaperError
from excerpts.paper.image_pdf import bilevel_pdf, blanked, grey_pdf, part_of, sampled_pdf
from excerpts.paper.pdf_area import alone, boxed_form, images_through, looks, without_outside
from excerpts.paper.sheet import LOOK_DPI, MM_PER_INCH, MOST_PIXELS, Crop, Greys, check_sides
from excerpts.paper.value import Area, Kind

_POINT: Final = 72 / MM_PER_INCH
_FINEST, _COARSEST, _DRAWN = 600, 150, 400
"""Dots an inch of pixels taken from a page: the most, the least, and of one that is drawn."""
_HAIR_MM: Final = 0.3
"""How far the room of a letter may reach over a cut."""
_INNER: Final = 0.8
"""Part of a page that a scan reaches out of."""
_MAY_COPY: Final = 0x10
"""The bit of the permissions that lets text and pictures be taken out (ISO 32000-2, table 22)."""


def count(data: bytes) -> int:
    """How many pages a PDF has."""
    with _document(data) as document:
        return len(document)


@contextmanager
def _document(data: bytes) -> Iterator[pdfium.PdfDocument]:
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError:
        document = pdfium.PdfDocument(_repaired(data))
    try:
        if raw.FPDF_GetSecurityHandlerRevision(document) >= 0 and not (
            raw.FPDF_GetDocPermissions(document) & _MAY_COPY
        ):
            raise PaperError(
                "whoever made this PDF has not allowed that anything is copied out of it.",
                hint="Ask for a copy that may be used so, or use your own scan of your own printed part.",
            )
        yield document
    finally:
        document.close()


def _repaired(data: bytes) -> bytes:
    """A broken file put right, as far as that can be done."""
    try:
        with pikepdf.open(BytesIO(data)) as broken:
            written = BytesIO()
            broken.save(written)
    except pikepdf.PasswordError as error:
        raise PaperError(
            "the PDF is encrypted and asks for a password.", hint="Save a copy without a password."
        ) from error
    except pikepdf.PdfError as error:
        raise PaperError("the PDF is damaged and cannot be read.", hint="Save or print it anew.") from error
    return written.getvalue()


@contextmanager
def opened(data: bytes, index: int, blank: Sequence[Area] = ()) -> Iterator[PdfSheet]:
    """One page, alone in a document of its own, with the marks that were put on it drawn in."""
    with _document(data) as document:
        width, height = document.get_page_size(index)
        check_sides(width / _POINT, height / _POINT)
        alone = pdfium.PdfDocument.new()
        try:
            alone.import_pages(document, [index])
        except pdfium.PdfiumError as error:
            raise PaperError("this page of the PDF is damaged.", hint="Save or print it anew.") from error
    page = alone[0]
    raw.FPDFPage_Flatten(page, raw.FLAT_NORMALDISPLAY)
    page.close()
    written = BytesIO()
    alone.save(written)
    alone.close()
    flat = pdfium.PdfDocument(written.getvalue())
    try:
        yield PdfSheet(flat, written.getvalue(), blank)
    finally:
        flat.close()


class PdfSheet:
    """One page of a PDF, alone in its document.

    Args:
        document: The document.
        data: Its bytes.
        blank: Areas of it that are left white: what reaches into one is cut as pixels.
    """

    def __init__(self, document: pdfium.PdfDocument, data: bytes, blank: Sequence[Area] = ()) -> None:
        self._blank = blank
        self._page, self._data = document[0], data
        width, height = self._page.get_size()
        self.width_mm, self.height_mm = width / _POINT, height / _POINT
        left, bottom, right, top = self._page.get_bbox()
        shown = {
            0: [[1, 0, -left], [0, -1, top]],
            90: [[0, 1, -bottom], [1, 0, -left]],
            180: [[-1, 0, right], [0, 1, -bottom]],
            270: [[0, -1, top], [-1, 0, right]],
        }[self._page.get_rotation()]
        self._to_mm = np.array([*shown, [0, 0, _POINT]]) / _POINT
        """The map from the page's own points to millimetres of the page as it is shown."""
        # A scan fills the page: it reaches out of all but its outermost strip.
        w, h = self.width_mm, self.height_mm
        whole = Crop(w / 2, h / 2, w * _INNER, h * _INNER, 0.0)

        scans = images_through(self._page, whole.from_page() @ self._to_mm, whole)
        self.dpi = max(per_mm for per_mm, _ in scans) * MM_PER_INCH if scans else None
        self.grey = bool(scans) and not all(one_bit for _, one_bit in scans)

    def greys(self) -> Greys:
        """The whole page as it is printed."""
        return self._rendered(LOOK_DPI)

    def _rendered(self, dpi: float) -> Greys:
        width, height = self._page.get_size()
        scale = min(dpi / 72, (MOST_PIXELS / (width * height)) ** 0.5)
        greys = np.array(self._page.render(scale=scale, grayscale=True).to_numpy())
        greys = greys.reshape(greys.shape[0], -1)
        return blanked(greys, self._blank, greys.shape[1] / self.width_mm) if self._blank else greys

    def cut(self, crop: Crop) -> tuple[Kind, bytes]:
        """An area as its PDF draws it; as pixels where a scan reaches out of it or it cannot be cut out whole."""
        to_crop = crop.from_page() @ self._to_mm
        through = images_through(self._page, to_crop, crop)
        drawn = None if through or self._reaches_blank(crop) else self._drawn(crop, to_crop)
        return ("vector", drawn) if drawn is not None else self._pixels(crop, through)

    def _reaches_blank(self, crop: Crop) -> bool:
        left, top, right, bottom = crop.bounds()
        return any(a < right and c > left and b < bottom and d > top for a, b, c, d in self._blank)

    def _drawn(self, crop: Crop, to_crop: NDArray[np.float64]) -> bytes | None:
        """The area as it is drawn; None where what lies outside cannot be taken out without a change inside."""
        wanted = looks(boxed_form(self._data, to_crop, crop))
        for hair in (_HAIR_MM, -_HAIR_MM):
            reduced = without_outside(self._data, to_crop, crop, hair)
            made = boxed_form(reduced, to_crop, crop) if reduced is not None else None
            if made is not None and np.array_equal(wanted, looks(made)):
                return made
        return None

    def _pixels(self, crop: Crop, through: list[tuple[float, bool]]) -> tuple[Kind, bytes]:
        """The area as pixels: those of the scan where the page is one, black and white where it is."""
        dpi = max((per_mm * MM_PER_INCH for per_mm, _ in through), default=_DRAWN)
        pixels = self._rendered(min(max(dpi, _COARSEST), _FINEST))
        part, place = part_of(pixels, self.width_mm, self.height_mm, crop)
        if through and all(one_bit for _, one_bit in through) and alone(self._page):
            return "bilevel", bilevel_pdf(part, place, crop)
        return "grey", grey_pdf(part, place, crop)

    def sampled(self, x: NDArray[np.float64], y: NDArray[np.float64], crop: Crop) -> tuple[Kind, bytes]:
        """A picture of places of the page."""
        pixels = self._rendered(min(max(self.dpi or _DRAWN, _COARSEST), _FINEST))
        height, width = pixels.shape
        return "grey", sampled_pdf(pixels, x * width / self.width_mm, y * height / self.height_mm, crop)
