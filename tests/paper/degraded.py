"""Pages as scanners, telephones and worn plates would give them, imitated by program with a fixed seed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from PIL import Image, ImageFilter

from excerpts.paper.sheet import Greys

SEED = 7


def turned(greys: Greys, degrees: float = 3.0) -> Greys:
    """Laid on the glass askew; what is turned out of the page is lost."""
    return np.asarray(Image.fromarray(greys).rotate(degrees, Image.Resampling.BICUBIC, True, fillcolor=255))


def in_perspective(greys: Greys, part: float = 0.05) -> Greys:
    """Photographed with the upper edge farther away: it is narrower by a part, and lines are lower there."""
    height, width = greys.shape
    y, x = np.mgrid[0:height, 0:width].astype(float)
    # A homography: what lies behind is divided by its depth, from 1 at the lower edge to 1 / (1 - part).
    up = 1 - y / height
    depth = 1 / (1 - part * up)
    across = (x - width / 2) * depth + width / 2
    down = height * (1 - up * (1 - part) * depth)
    return _sampled(greys, across, down)


def bowed(greys: Greys, mm: float = 2.0) -> Greys:
    """A page that does not lie flat: its middle stands lower than its sides."""
    height, width = greys.shape
    y, x = np.mgrid[0:height, 0:width].astype(float)
    return _sampled(greys, x, y - mm * width / 210 * np.sin(np.pi * x / width))


def blurred(greys: Greys, pixels: float = 1.5) -> Greys:
    """Out of focus."""
    return np.asarray(Image.fromarray(greys).filter(ImageFilter.GaussianBlur(pixels)))


def unevenly_lit(greys: Greys) -> Greys:
    """In the light of a lamp at one side, with grain."""
    random = np.random.default_rng(SEED)
    height, width = greys.shape
    light = 0.45 + 0.55 * np.linspace(0, 1, width)[None, :] * np.linspace(1, 0.8, height)[:, None]
    return (greys * light + random.normal(0, 5, greys.shape)).clip(0, 255).astype(np.uint8)


def worn(greys: Greys, gaps: float = 0.06) -> Greys:
    """Printed from a worn plate and scanned in black and white: lines break, ink spreads here and clogs there.

    Args:
        greys: The page.
        gaps: Part of the ink of a thin line that is missing.
    """
    random = np.random.default_rng(SEED)
    soft = np.asarray(Image.fromarray(greys).filter(ImageFilter.GaussianBlur(0.7))).astype(float)
    fine, coarse = (_noise(greys.shape, size, random) for size in (6, 60))
    ink = (255 - soft) / 255 + 0.06 * _noise(greys.shape, 2, random) + 0.06 * coarse + 0.09 * fine
    lost = _noise(greys.shape, 9, random) > np.quantile(_noise((400, 400), 9, random), 1 - gaps)
    ink[lost] -= 0.25
    black = ink > 0.36
    specks = random.random(greys.shape) < 0.0002
    return np.where(black | specks, 0, 255).astype(np.uint8)


def _noise(shape: tuple[int, ...], size: int, random: np.random.Generator) -> np.ndarray:
    """Soft noise of about 1, with spots of so many pixels."""
    small = random.normal(0, 1, (shape[0] // size + 2, shape[1] // size + 2)).astype(np.float32)
    large = Image.fromarray(small).resize((shape[1], shape[0]), Image.Resampling.BICUBIC)
    made: np.ndarray = np.asarray(large) / np.asarray(large).std()
    return made


def _sampled(greys: Greys, x: np.ndarray, y: np.ndarray) -> Greys:
    """The page read at other places, between four pixels each; white where there is none."""
    height, width = greys.shape
    inside = (x >= 0) & (x < width - 1) & (y >= 0) & (y < height - 1)
    left, top = x.clip(0, width - 2).astype(int), y.clip(0, height - 2).astype(int)
    across, down = x - left, y - top
    upper = greys[top, left] * (1 - across) + greys[top, left + 1] * across
    lower = greys[top + 1, left] * (1 - across) + greys[top + 1, left + 1] * across
    return np.where(inside, upper * (1 - down) + lower * down, 255).clip(0, 255).astype(np.uint8)


def as_photo(greys: Greys) -> Greys:
    """All at once: in perspective, bowed, turned, out of focus, unevenly lit."""
    return unevenly_lit(blurred(turned(bowed(in_perspective(greys, 0.03), 1.5), 1.1), 0.8))


KINDS: dict[str, tuple[int, Callable[[Greys], Greys]]] = {
    "300 dpi": (300, lambda greys: greys),
    "200 dpi": (200, lambda greys: greys),
    "150 dpi": (150, lambda greys: greys),
    "turned by 1 degree": (200, lambda greys: turned(greys, 1.0)),
    "turned by 3 degrees": (200, lambda greys: turned(greys, 3.0)),
    "perspective 2 %": (200, lambda greys: in_perspective(greys, 0.02)),
    "perspective 5 %": (200, lambda greys: in_perspective(greys, 0.05)),
    "bowed by 2 mm": (200, bowed),
    "blurred": (200, blurred),
    "uneven light": (200, unevenly_lit),
    "as a photo": (200, as_photo),
    "worn plate": (200, worn),
}
"""What is done to a page, and the dots an inch that it has."""
