"""Portato: several notes in one bow, each with a gentle start; slur and dashes. String players' common practice."""

from __future__ import annotations

from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.variants.equal_pitches import DASH
from excerpts.variants.new_slurs import LEAST, bow, groups_of
from excerpts.variants.ratios import BEFORE, no_run
from excerpts.variants.registry import Variant, VariantInfo

_COUNTS: Final = ("2", "3", "4", "6", "8")


def check(parameter: str) -> None:
    """Refuse a parameter that is not a number of notes to a bow.

    Raises:
        VariantError: It is not 2, 3, 4, 6 or 8.
    """
    if parameter and parameter not in _COUNTS:
        raise VariantError(
            f"{parameter!r} in 'portato:{parameter}' is not a number of notes to a bow.",
            hint=f"Choose from {', '.join(_COUNTS)}, like portato:4.",
        )


def portato(line: Voice, parameter: str) -> Voice:
    """Play the runs in pulses.

    Raises:
        VariantError: No run is long enough.
    """
    count = int(parameter or _COUNTS[0])
    groups = groups_of(line, (count,))
    if not groups:
        raise no_run(line, f"portato:{count}", max(count, LEAST), hint=BEFORE)
    return bow(line, groups, "in pulses", (DASH,))


VARIANT = Variant(
    VariantInfo(
        "portato",
        ("bow-distribution", "tone", "coordination"),
        parameter="|".join(_COUNTS),
        order=66,
        kind="bowing",
        shown=("2", "4"),
    ),
    on_line=portato,
    check=check,
)
