"""What is measured: weeks with boxes in a string quartet of music21's corpus (W. A. Mozart, KV 458)."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

from tests.corpus.check import corpus
from tests.heads import head

BARS_OF: Final = {"movement1": 270, "movement2": 60, "movement3": 50, "movement4": 320}
"""The movements, and how many of their bars are used."""

LONG: Final = 12
"""Bars of a box."""

_HEAD: Final = head("advanced", name="{name}", minutes="120")
_PIECE: Final = """[[piece]]
id = "{id}"
title = "Quartet, {id}"
score = "{id}.mxl"
part = "#1"
"""
_BOX: Final = """[[box]]
id = "b{place}"
piece = "{piece}"
bars = "{first}-{last}"
why = "shift"
variants = [{variants}]
"""


def scores(folder: Path) -> None:
    """Copy the movements into a folder."""
    for name in BARS_OF:
        shutil.copy(corpus() / "mozart" / "k458" / f"{name}.mxl", folder / f"{name}.mxl")


def week_text(
    name: str, boxes: int, variants: tuple[str, ...] = (), first: int = 2, *, moved: int = -1
) -> str:
    """A week file of one player with boxes all over the quartet.

    Args:
        name: Name of the player.
        boxes: How many boxes.
        variants: Variants of each.
        first: The bar that the first box begins with, so that players can have other bars each.
        moved: Place of a box that begins a bar later than it would; none for -1.
    """
    places = [(piece, bar) for piece, bars in BARS_OF.items() for bar in range(first, bars - LONG, LONG + 2)]
    step = max(len(places) // boxes, 1)
    text = _HEAD.format(name=name) + "".join(_PIECE.format(id=piece) for piece in BARS_OF)
    listed = ", ".join(f'"{one}"' for one in variants)
    for place in range(boxes):
        piece, bar = places[place * step % len(places)]
        bar += place == moved
        text += _BOX.format(place=place, piece=piece, first=bar, last=bar + LONG - 1, variants=listed)
    return text
