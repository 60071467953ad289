"""Rhythm: the teacher's own ratio, one number for each note of a group."""

from __future__ import annotations

from typing import Final

from excerpts.notes import Voice
from excerpts.variants.ratios import in_rhythm, read_ratio
from excerpts.variants.registry import Variant, VariantInfo

_FAULTS: Final = ("uneven", "coordination", "speed")
_PLAIN: Final = "3-1"
"""What 'rhythm' alone means."""


def check(parameter: str) -> None:
    """Refuse a parameter that is no ratio.

    Raises:
        VariantError: It is not positive whole numbers with hyphens between, or the form is not known.
    """
    read_ratio(parameter or _PLAIN)


def rhythm(line: Voice, parameter: str) -> Voice:
    """Share the time of each group by the ratio."""
    return in_rhythm(line, read_ratio(parameter or _PLAIN))


VARIANT = Variant(
    VariantInfo("rhythm", _FAULTS, parameter="RATIO[:FORM]", order=60, kind="rhythm", shown=("5-1-1-1",)),
    on_line=rhythm,
    check=check,
)
