"""Long–short: the first note of each pair is three times as long as the second; short–long: the second as the first."""

from __future__ import annotations

from fractions import Fraction

from excerpts.notes import Voice
from excerpts.variants.pairs import in_pairs
from excerpts.variants.registry import Variant, VariantInfo


def long_short(line: Voice, parameter: str) -> Voice:
    """Give the first note of each pair three quarters of its time."""
    del parameter
    return in_pairs(line, Fraction(3, 4), "long-short")


def short_long(line: Voice, parameter: str) -> Voice:
    """Give the first note of each pair one quarter of its time."""
    del parameter
    return in_pairs(line, Fraction(1, 4), "short-long")


VARIANTS = (
    Variant(
        VariantInfo("long-short", ("uneven", "shift", "speed"), order=30, kind="rhythm"), on_line=long_short
    ),
    Variant(
        VariantInfo("short-long", ("uneven", "crossing", "shift", "speed"), order=40, kind="rhythm"),
        on_line=short_long,
    ),
)
