"""Takes an area out of a page of a PDF as it is drawn: what lies outside is removed, the rest becomes a form."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from io import BytesIO
from typing import Any, Final

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pypdfium2.raw as raw
from numpy.typing import NDArray

from excerpts.paper.image_pdf import page_of
from excerpts.paper.sheet import MM_PER_INCH, Crop, Greys

Map = NDArray[np.float64]

_DEEPEST: Final = 6
"""Forms within forms that are looked into."""
_MOST_OBJECTS: Final = 200_000
_CHECK_DPI: Final = 150
_PASSES: Final = 3
"""How often objects are taken out: pdfium leaves some that stand deep in forms the first time."""
_ROUNDED: Final = 0.05
"""Millimetres by which a PDF may round what is written anew."""


class _ManyObjectsError(Exception):
    """A page has more in it than a page of music has."""


def _matrix(item: Any) -> Map:
    a, b, c, d, e, f = item.get_matrix().get()
    return np.array([[a, c, e], [b, d, f], [0, 0, 1]])


def _objects(page: Any, to_crop: Map, form: Any = None, level: int = 0) -> Iterator[tuple[Any, Map]]:
    """All that is on a page, a form before what is in it, each with the map from where it stands to the crop."""
    count = raw.FPDFFormObj_CountObjects if form else raw.FPDFPage_CountObjects
    if count(form or page) > _MOST_OBJECTS:
        raise _ManyObjectsError
    for item in page.get_objects(max_depth=1, form=form, level=level):
        yield item, to_crop
        if item.type == raw.FPDF_PAGEOBJ_FORM and level < _DEEPEST:
            yield from _objects(page, to_crop @ _matrix(item), item, level + 1)


def _extent(item: Any, to_crop: Map) -> tuple[float, float, float, float]:
    left, bottom, right, top = item.get_bounds()
    corners = np.array([[left, bottom, 1], [right, bottom, 1], [left, top, 1], [right, top, 1]]) @ to_crop.T
    (x0, y0), (x1, y1) = corners[:, :2].min(axis=0), corners[:, :2].max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _outside(
    extent: tuple[float, float, float, float], crop: Crop, hair: float = 0.0, slack: float = 0.0
) -> bool:
    """Whether a rectangle lies outside an area, by more than some slack."""
    left, bottom, right, top = extent
    side = slack + max(-hair, 0.0)
    if right < -side or top < -side or left > crop.width + side or bottom > crop.height + side:
        return True
    ends = (max(left, 0.0), min(right, crop.width))
    over, under = _between(crop.upper, ends), _between(crop.lower, ends)
    above = bool(over) and crop.height - bottom < min(over) + hair - slack
    return above or (bool(under) and crop.height - top > max(under) - hair + slack)


def _between(path: tuple[tuple[float, float], ...], ends: tuple[float, float]) -> list[float]:
    """The heights of a cut between two places of it."""
    if not path:
        return []
    xs, ys = zip(*path, strict=True)
    inside = [y for x, y in path if ends[0] <= x <= ends[1]]
    return [*inside, *(float(np.interp(x, xs, ys)) for x in ends)]


def images_through(page: Any, to_crop: Map, crop: Crop) -> list[tuple[float, bool]]:
    """The pictures that reach out of an area, as a scan does: pixels to a millimetre, and whether of one bit."""
    through = []
    for item, here in _objects(page, to_crop):
        if item.type != raw.FPDF_PAGEOBJ_IMAGE:
            continue
        left, bottom, right, top = extent = _extent(item, here)
        inside = left > -1 and bottom > -1 and right < crop.width + 1 and top < crop.height + 1
        if not inside and not _outside(extent, crop):
            facts = item.get_metadata()
            longer = max(right - left, top - bottom)
            through.append((max(facts.width, facts.height) / longer, facts.bits_per_pixel == 1))
    return through


def alone(page: Any) -> bool:
    """Whether one object is all that a page has: a scan without anything written on it."""
    return len(list(page.get_objects(max_depth=1))) == 1


def without_outside(data: bytes, to_crop: Map, crop: Crop, hair: float = 0.0) -> bytes | None:
    """A page without the objects that lie wholly outside; None where some cannot be taken out.

    Args:
        data: The page, alone in its PDF.
        to_crop: The map from its points to the crop.
        crop: The area.
        hair: Millimetres that the room of a letter may reach over a cut which its ink does not touch.
    """
    reduced = data
    for _ in range(_PASSES):
        reduced, left = _reduced(reduced, to_crop, crop, hair)
        if not left:
            return _with_resources(reduced, data)
    return None


def _reduced(data: bytes, to_crop: Map, crop: Crop, hair: float) -> tuple[bytes, bool]:
    """A page without what lies outside, and whether some of it is still there."""
    with closing(pdfium.PdfDocument(data)) as document:
        page = document[0]
        gone = [item for item, here in _objects(page, to_crop) if _outside(_extent(item, here), crop, hair)]
        held = {id(item) for item in gone}
        for item in gone:
            if item.container is None or id(item.container) not in held:  # else it goes with its form
                page.remove_obj(item)
        page.gen_content()
        written = BytesIO()
        document.save(written)
    with closing(pdfium.PdfDocument(written.getvalue())) as reduced:
        left = [
            item
            for item, here in _objects(reduced[0], to_crop)
            if _outside(extent := _extent(item, here), crop, hair, _ROUNDED) and not _blank(item, extent)
        ]
        return written.getvalue(), bool(left)


def _blank(item: Any, extent: tuple[float, float, float, float]) -> bool:
    """Whether a text has no ink: pdfium does not let go of a space that stands alone."""
    left, bottom, right, top = extent
    return bool(item.type == raw.FPDF_PAGEOBJ_TEXT) and min(right - left, top - bottom) < _ROUNDED


def _with_resources(data: bytes, before: bytes) -> bytes:
    """Give a page back what pdfium takes for unused because only forms within forms use it: faces, colours, patterns.

    No forms and images: what was taken out would be in the file again.
    """
    written = BytesIO()
    with pikepdf.open(BytesIO(data)) as pdf, pikepdf.open(BytesIO(before)) as source:
        own, others = (file.pages[0].get("/Resources", pikepdf.Dictionary()) for file in (pdf, source))
        for kind in ("/Font", "/ExtGState", "/ColorSpace", "/Pattern", "/Shading"):
            for name, value in others.get(kind, {}).items():
                if kind not in own:
                    own[kind] = pikepdf.Dictionary()
                if name not in own[kind]:
                    own[kind][name] = pdf.copy_foreign(
                        value if value.is_indirect else source.make_indirect(value)
                    )
        pdf.save(written)
    return written.getvalue()


def boxed_form(data: bytes, to_crop: Map, crop: Crop) -> bytes:
    """The first page of a PDF as a form on a page of the size of the area; nothing else of the file comes along."""
    with pikepdf.open(BytesIO(data)) as pdf:
        page = pdf.pages[0]
        page.contents_coalesce()
        form = pikepdf.Stream(pdf, page.Contents.read_bytes() if "/Contents" in page else b"")
        left, bottom, right, top = (float(side) for side in page.mediabox)
        facts = {
            "/Type": pikepdf.Name.XObject,
            "/Subtype": pikepdf.Name.Form,
            "/BBox": [min(left, right), min(bottom, top), max(left, right), max(bottom, top)],
            "/Resources": page.get("/Resources", pikepdf.Dictionary()),
        }
        if "/Group" in page:
            facts["/Group"] = page.Group
        form.stream_dict = pikepdf.Dictionary(facts)
        return page_of(pdf, form, to_crop, crop)


def looks(data: bytes) -> Greys:
    """A small PDF as it is printed."""
    with closing(pdfium.PdfDocument(data)) as document:
        # The page is in millimetres for points.
        return np.array(document[0].render(scale=_CHECK_DPI / MM_PER_INCH, grayscale=True).to_numpy())
