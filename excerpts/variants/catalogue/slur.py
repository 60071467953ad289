"""Slurs: the notes of runs in twos, threes, fours, or in turns like one and three; what is left over is separate."""

from __future__ import annotations

import re
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.variants.new_slurs import LEAST, bow, groups_of
from excerpts.variants.ratios import BEFORE, no_run
from excerpts.variants.registry import Variant, VariantInfo

_PLAIN: Final = "2"
_MOST: Final = 24
"""Notes in a bow, at most: three octaves of a scale."""


def read_bows(parameter: str) -> tuple[int, ...]:
    """Read "4" or "1-3".

    Raises:
        VariantError: It is not numbers of notes with hyphens between, all are 1, or they are too many.
    """
    hint = "Write how many notes go to a bow, like slur:4, or in turn, like slur:1-3."
    parts = [part.strip() for part in parameter.split("-")]
    if not all(re.fullmatch(r"\d{1,2}", part) for part in parts):
        raise VariantError(
            f"{parameter!r} in 'slur:{parameter}' is not a number of notes to a bow.", hint=hint
        )
    bows = tuple(int(part) for part in parts)
    if min(bows) < 1:
        raise VariantError(f"no bow has 0 notes, as in 'slur:{parameter}'.", hint=hint)
    if max(bows) == 1:
        raise VariantError(
            f"'slur:{parameter}' slurs nothing.", hint="Write 'separate' for a bow to each note."
        )
    if sum(bows) > _MOST:
        raise VariantError(f"'slur:{parameter}' is more than {_MOST} notes.", hint=hint)
    return bows


def check(parameter: str) -> None:
    """Refuse a parameter that is no bowing.

    Raises:
        VariantError: It is not numbers of notes.
    """
    read_bows(parameter or _PLAIN)


def slur(line: Voice, parameter: str) -> Voice:
    """Slur the runs anew; old slurs and dots of these notes go.

    Raises:
        VariantError: No run is long enough.
    """
    bows = read_bows(parameter or _PLAIN)
    groups = groups_of(line, bows)
    if not groups:
        raise no_run(line, f"slur:{parameter or _PLAIN}", max(sum(bows), LEAST), hint=BEFORE)
    return bow(line, groups, "slurred anew")


VARIANT = Variant(
    VariantInfo(
        "slur",
        ("bow-distribution", "crossing", "coordination", "tone"),
        parameter="NUMBERS",
        order=64,
        kind="bowing",
        shown=("2", "3", "4", "6", "8", "1-3", "3-1", "2-1-1", "1-1-2"),
    ),
    on_line=slur,
    check=check,
)
