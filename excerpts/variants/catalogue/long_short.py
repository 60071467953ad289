"""Long–short: the first note of each pair is three times as long as the second."""

from __future__ import annotations

from fractions import Fraction

from excerpts.notes import Voice
from excerpts.variants.pairs import in_pairs
from excerpts.variants.registry import Variant, VariantInfo


def long_short(line: Voice, parameter: str) -> Voice:
    """Give the first note of each pair three quarters of its time."""
    del parameter
    return in_pairs(line, Fraction(3, 4), VARIANT.info.name)


VARIANT = Variant(
    VariantInfo("long-short", ("uneven", "shift", "speed"), order=30, kind="rhythm"), on_line=long_short
)
