"""A scan or a photo as a page: black and white stays so, anything else becomes 16 greys on white."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from excerpts.errors import PaperError
from excerpts.paper.image_pdf import bilevel_pdf, blanked, grey_pdf, part_of, sampled_pdf
from excerpts.paper.sheet import LOOK_DPI, MM_PER_INCH, MOST_PIXELS, Crop, Greys, check_sides
from excerpts.paper.value import Area, Kind

Image.MAX_IMAGE_PIXELS = None  # what is too large is told here, before a pixel is read

_FORMATS: Final = ("PNG", "JPEG", "TIFF")
_PAGE_MM: Final = (150.0, 450.0)
"""What the longer side of a page of music measures; a picture whose file says otherwise is taken for A4 upright."""
_A4_MM: Final = 297.0


def count(data: bytes) -> int:
    """How many pages a picture has: only a TIFF can have more than one."""
    return int(getattr(_read(data), "n_frames", 1))


def _read(data: bytes) -> Image.Image:
    try:
        picture = Image.open(BytesIO(data), formats=_FORMATS)
    except (UnidentifiedImageError, OSError, ValueError) as error:
        raise PaperError(
            "this is neither a PDF nor a picture that can be read (PNG, JPEG, TIFF).",
            hint="Save it anew as PNG or JPEG; from a telephone, as JPEG.",
        ) from error
    if picture.width * picture.height > MOST_PIXELS:
        raise PaperError(
            f"the picture has {picture.width} × {picture.height} pixels; "
            f"{MOST_PIXELS // 1_000_000} million are the most.",
            hint="Scan it at 300 dpi, or save it smaller.",
        )
    return picture


class PictureSheet:
    """A page of a picture file.

    Args:
        data: The file.
        index: Which picture of it.
        blank: Areas of it that are left white.

    Raises:
        PaperError: It cannot be read.
    """

    def __init__(self, data: bytes, index: int, blank: Sequence[Area] = ()) -> None:
        picture = _read(data)
        try:
            picture.seek(index)
            picture.load()
        except (OSError, ValueError, SyntaxError, EOFError) as error:
            raise PaperError("the picture is broken off or damaged.", hint="Save it anew.") from error
        self.bilevel, self._pixels = _upright_greys(picture)
        height, width = self._pixels.shape
        self.width_mm, self.height_mm = _size_mm(picture, width, height)
        check_sides(self.width_mm, self.height_mm)
        self.dpi: float | None = width / self.width_mm * MM_PER_INCH
        self.grey = not self.bilevel
        if blank:
            self._pixels = blanked(self._pixels, blank, width / self.width_mm)

    def greys(self) -> Greys:
        """The whole page, no finer than staves are looked for."""
        height, width = self._pixels.shape
        factor = self.width_mm / MM_PER_INCH * LOOK_DPI / width
        if factor >= 1:
            return self._pixels
        small = Image.fromarray(self._pixels).resize(
            (round(width * factor), round(height * factor)), Image.Resampling.BILINEAR
        )
        return np.asarray(small)

    def cut(self, crop: Crop) -> tuple[Kind, bytes]:
        """The pixels of an area as they are, not resampled: the PDF turns them."""
        pixels, place = part_of(self._pixels, self.width_mm, self.height_mm, crop)
        if self.bilevel:
            return "bilevel", bilevel_pdf(pixels, place, crop)
        return "grey", grey_pdf(pixels, place, crop)

    def sampled(self, x: NDArray[np.float64], y: NDArray[np.float64], crop: Crop) -> tuple[Kind, bytes]:
        """A picture of places of the page."""
        height, width = self._pixels.shape
        return "grey", sampled_pdf(self._pixels, x * width / self.width_mm, y * height / self.height_mm, crop)


def _upright_greys(picture: Image.Image) -> tuple[bool, Greys]:
    """Whether a picture is black and white, and its greys, turned as its camera says, on white."""
    if picture.mode.startswith("I") or picture.mode == "F":  # 16 bits, which Pillow would clip to white
        deep = np.asarray(picture).astype(np.float64)
        pixels = (deep / (257 if deep.max() > 255 else 1)).clip(0, 255).astype(np.uint8)
        picture = Image.fromarray(pixels)
    turned = ImageOps.exif_transpose(picture)
    if turned.mode in {"RGBA", "LA", "PA"} or "transparency" in turned.info:
        layered = turned.convert("RGBA")
        white = Image.new("RGBA", layered.size, "white")
        turned = Image.alpha_composite(white, layered)
    greys = np.asarray(turned.convert("L"))
    return bool(np.isin(greys, (0, 255)).all()), greys


def _size_mm(picture: Image.Image, width: int, height: int) -> tuple[float, float]:
    """The size of the page: what the file says where a page of music has that size, else A4."""
    dpi: Any = picture.info.get("dpi", (0, 0))
    longer = max(width, height)
    per_inch = float(dpi[0] or 0)
    size = longer / per_inch * MM_PER_INCH if per_inch > 0 else 0.0
    if not _PAGE_MM[0] <= size <= _PAGE_MM[1]:
        size = _A4_MM
    return width * size / longer, height * size / longer
