"""Slow: the same notes at another tempo, marked in front of them."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.tempo_marks import retempo

SLOWEST: Final = 10
FASTEST: Final = 400


def check(parameter: str) -> None:
    """Refuse a parameter that is no number of beats a minute.

    Raises:
        VariantError: It is not a number from 10 to 400.
    """
    if not parameter:
        return
    number = Fraction(parameter) if re.fullmatch(r"\d{1,4}(\.\d{1,2})?", parameter) else None
    if number is None or not SLOWEST <= number <= FASTEST:
        raise VariantError(
            f"{parameter!r} in 'slow:{parameter}' is not a number of beats a minute.",
            hint=f"Give one from {SLOWEST} to {FASTEST}, like slow:60, or write 'slow' for half the tempo.",
        )


def slow(excerpt: Excerpt, parameter: str) -> Excerpt:
    """Set the tempo of the box to a number of the beats that its mark counts, or to half on the metronome."""
    return retempo(excerpt, Fraction(parameter) if parameter else None)


VARIANT = Variant(
    VariantInfo(
        "slow",
        ("rhythm", "intonation", "tone", "bow-distribution", "memory", "reading"),
        parameter="NUMBER",
        same_notes=True,
        order=15,
        kind="tempo",
    ),
    on_excerpt=slow,
    check=check,
)
