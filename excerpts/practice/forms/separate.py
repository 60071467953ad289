"""Separate bows: no slurs, one stroke for each note."""

from __future__ import annotations

from excerpts.notes import Line
from excerpts.practice.bowing import separate_bows
from excerpts.practice.registry import Variant, VariantInfo


def separate(line: Line, parameter: str) -> Line:
    """Take the slurs off, and the bow signs that only they needed."""
    del parameter
    return separate_bows(line)


VARIANT = Variant(
    VariantInfo(
        "separate",
        ("coordination", "crossing", "speed", "intonation", "tone"),
        order=20,
        kind="bowing",
        again=True,
    ),
    on_line=separate,
)
