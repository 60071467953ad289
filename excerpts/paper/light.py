"""Takes the light out of a photo: every place is told against the brightness of the paper around it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from excerpts.paper.sheet import Greys

_BLOCK: Final = 24
"""Pixels of a side of the squares whose paper is measured."""
_WHITE: Final = 0.86
"""What is so bright against its paper is paper: its grain and the shadow of print behind it are gone."""
_BLACK: Final = 0.25


def paper_light(greys: Greys) -> NDArray[np.float32]:
    """The brightness of the paper at every pixel."""
    height, width = greys.shape
    rows, columns = -(-height // _BLOCK), -(-width // _BLOCK)
    padded = np.pad(greys, ((0, rows * _BLOCK - height), (0, columns * _BLOCK - width)), mode="edge")
    blocks = padded.reshape(rows, _BLOCK, columns, _BLOCK).swapaxes(1, 2).reshape(rows, columns, -1)
    bright = np.percentile(blocks, 90, axis=2).astype(np.float32)
    around = np.pad(bright, 2, mode="edge")
    near = [around[y : y + rows, x : x + columns] for y in range(5) for x in range(5)]
    light = Image.fromarray(np.percentile(near, 80, axis=0).astype(np.float32))
    smooth = light.resize((columns * _BLOCK, rows * _BLOCK), Image.Resampling.BILINEAR)
    kept: NDArray[np.float32] = np.maximum(np.asarray(smooth)[:height, :width], 1.0)
    return kept


def on_white(greys: Greys) -> NDArray[np.float32]:
    """The picture from 0, the black of its ink, to 1, its paper."""
    against = greys / paper_light(greys)
    ink = against[against < 0.6]
    black = float(np.percentile(ink, 10)) if ink.size else _BLACK
    stretched: NDArray[np.float32] = ((against - black) / (_WHITE - black)).clip(0, 1)
    return stretched
