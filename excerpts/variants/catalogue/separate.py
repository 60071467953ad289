"""Separate bows: no slurs, one stroke for each note."""

from __future__ import annotations

from excerpts.notes import Voice
from excerpts.variants.new_slurs import separate_bows
from excerpts.variants.registry import Variant, VariantInfo


def separate(line: Voice, parameter: str) -> Voice:
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
