"""Short–long: the second note of each pair is three times as long as the first."""

from __future__ import annotations

from fractions import Fraction

from excerpts.notes import Voice
from excerpts.variants.pairs import in_pairs
from excerpts.variants.registry import Variant, VariantInfo


def short_long(line: Voice, parameter: str) -> Voice:
    """Give the first note of each pair one quarter of its time."""
    del parameter
    return in_pairs(line, Fraction(1, 4), VARIANT.info.name)


VARIANT = Variant(
    VariantInfo("short-long", ("uneven", "crossing", "shift", "speed"), order=40, kind="rhythm"),
    on_line=short_long,
)
