"""Pixels of a page as a small PDF: an image with what lies outside the area painted white, turned by its map."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final

import numpy as np
import pikepdf
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from excerpts.paper.light import on_white
from excerpts.paper.sheet import Crop, Greys
from excerpts.paper.value import Area

Place = tuple[float, float, float, float]
"""Left, top, right, bottom of the pixels on the page, in millimetres."""

_LEVELS: Final = 15


def part_of(pixels: Greys, width_mm: float, height_mm: float, crop: Crop) -> tuple[Greys, Place]:
    """The pixels of a page round an area, and where they lie on it."""
    height, width = pixels.shape
    x, y = width / width_mm, height / height_mm
    left, top, right, bottom = crop.bounds()
    x0, y0 = max(int(left * x), 0), max(int(top * y), 0)
    x1, y1 = min(int(right * x) + 1, width), min(int(bottom * y) + 1, height)
    return pixels[y0:y1, x0:x1], (x0 / x, y0 / y, x1 / x, y1 / y)


def bilevel_pdf(pixels: Greys, place: Place, crop: Crop) -> bytes:
    """Black and white pixels as they were scanned, one bit each (ITU-T T.6)."""
    black = (pixels < 128) & _inside(pixels, place, crop)
    height, width = black.shape
    written = BytesIO()
    size = -(-width // 8) * height
    Image.fromarray(~black).save(written, "TIFF", compression="group4", strip_size=max(size, 1))
    tags = Image.open(written).tag_v2  # type: ignore[attr-defined]
    start, length = tags[273][0], tags[279][0]
    white_is_zero = tags[262] == 0
    facts = {
        "/BitsPerComponent": 1,
        "/Filter": pikepdf.Name.CCITTFaxDecode,
        "/DecodeParms": pikepdf.Dictionary(K=-1, Columns=width, Rows=height, BlackIs1=not white_is_zero),
    }
    return _pdf(written.getvalue()[start : start + length], width, height, facts, place, crop)


def grey_pdf(pixels: Greys, place: Place, crop: Crop) -> bytes:
    """A photo or a scan in greys as 16 greys on white."""
    inside = _inside(pixels, place, crop)
    levels = np.where(inside, np.rint(on_white(pixels) * _LEVELS), _LEVELS).astype(np.uint8)
    height, width = levels.shape
    if width % 2:
        levels = np.pad(levels, ((0, 0), (0, 1)), constant_values=_LEVELS)
    packed = (levels[:, ::2] << 4 | levels[:, 1::2]).astype(np.uint8)
    facts = {"/BitsPerComponent": 4, "/Filter": pikepdf.Name.FlateDecode}
    return _pdf(zlib.compress(packed.tobytes(), 9), width, height, facts, place, crop)


def blanked(pixels: Greys, blank: Sequence[Area], per_mm: float) -> Greys:
    """A page with some of its areas white."""
    white = pixels.copy()
    for left, top, right, bottom in blank:
        rows, columns = (
            slice(max(int(a * per_mm), 0), max(int(b * per_mm) + 1, 0))
            for a, b in ((top, bottom), (left, right))
        )
        white[rows, columns] = np.percentile(pixels[rows, columns], 95) if pixels[rows, columns].size else 255
    return white


def sampled_pdf(pixels: Greys, x: NDArray[np.float64], y: NDArray[np.float64], crop: Crop) -> bytes:
    """A picture put together of places of a page, as 16 greys on white.

    Args:
        pixels: The page.
        x: For each pixel of the picture where it stands in `pixels`, between four of which it may stand.
        y: The same, down.
        crop: What the picture shows, not turned.
    """
    height, width = pixels.shape
    x, y = np.clip(x - 0.5, 0, width - 1.001), np.clip(y - 0.5, 0, height - 1.001)
    left, top = x.astype(int), y.astype(int)
    across, down = x - left, y - top
    upper = pixels[top, left] * (1 - across) + pixels[top, left + 1] * across
    lower = pixels[top + 1, left] * (1 - across) + pixels[top + 1, left + 1] * across
    picture = np.rint(upper * (1 - down) + lower * down).astype(np.uint8)
    return grey_pdf(picture, (0.0, 0.0, crop.width, crop.height), crop)


def _inside(pixels: Greys, place: Place, crop: Crop) -> NDArray[np.bool_]:
    """Which pixels lie in the area: the others are not kept, hidden or not."""
    height, width = pixels.shape
    left, top, right, bottom = place
    scale = np.array([width / (right - left), height / (bottom - top)])
    corners = (crop.outline_on_page() - np.array([left, top])) * scale
    mask = Image.new("1", (width, height))
    ImageDraw.Draw(mask).polygon([(float(x), float(y)) for x, y in corners], fill=1)
    return np.asarray(mask)


def _pdf(data: bytes, width: int, height: int, facts: dict[str, Any], place: Place, crop: Crop) -> bytes:
    left, top, right, bottom = place
    unit = np.array([[right - left, 0, left], [0, top - bottom, bottom], [0, 0, 1]])
    with pikepdf.new() as pdf:
        image = pikepdf.Stream(pdf, data)
        image.stream_dict = pikepdf.Dictionary(
            {
                "/Type": pikepdf.Name.XObject,
                "/Subtype": pikepdf.Name.Image,
                "/Width": width,
                "/Height": height,
                "/ColorSpace": pikepdf.Name.DeviceGray,
                **facts,
            }
        )
        return page_of(pdf, image, crop.from_page() @ unit, crop)


def page_of(pdf: pikepdf.Pdf, drawn: pikepdf.Stream, matrix: NDArray[np.float64], crop: Crop) -> bytes:
    """A file of one page as large as the area, in millimetres for points, that shows a form or an image.

    Args:
        pdf: The file that it belongs to, of which nothing else comes along.
        drawn: The form or image.
        matrix: The map from its space to the page.
        crop: The area.
    """
    (a, c, e), (b, d, f) = matrix[0], matrix[1]
    numbers = " ".join(f"{value:.6f}" for value in (a, b, c, d, e, f))
    clip = _clip(crop)
    written = BytesIO()
    with pikepdf.new() as made:
        page = made.add_blank_page(page_size=(crop.width, crop.height))
        page.MediaBox = pikepdf.Array([0, 0, round(crop.width, 4), round(crop.height, 4)])
        form = made.copy_foreign(pdf.make_indirect(drawn))
        page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary({"/P": form}))
        page.Contents = made.make_stream(f"q {clip}{numbers} cm /P Do Q".encode())
        made.save(written, deterministic_id=True)
    return written.getvalue()


def _clip(crop: Crop) -> str:
    """The outline that what is drawn is clipped to, where it is not all of the page (ISO 32000-2, 8.5.4)."""
    if not crop.upper and not crop.lower:
        return ""
    points = [f"{x:.3f} {y:.3f}" for x, y in crop.outline()]
    return f"{points[0]} m {' '.join(f'{point} l' for point in points[1:])} h W n "
