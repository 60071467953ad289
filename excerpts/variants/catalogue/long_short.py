"""Long–short: the first note of each pair is three times as long as the second; short–long: the second as the first.

A dotted figure that has this rhythm already is left alone; the other one turns it round.
"""

from __future__ import annotations

from functools import partial

from excerpts.notes import Voice
from excerpts.variants.pairs import no_pairs
from excerpts.variants.ratios import plain_groups
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.reshare import reshare


def in_pairs(line: Voice, parameter: str, name: str, ratio: tuple[int, int]) -> Voice:
    """Share the time of each pair by a ratio.

    Raises:
        VariantError: The box has no run of even notes that divides in pairs, and no two dotted figures.
    """
    del parameter
    groups = plain_groups(line, ratio)
    if not groups:
        raise no_pairs(line, name)
    return reshare(line, groups)


VARIANTS = (
    Variant(
        VariantInfo("long-short", ("uneven", "shift", "speed"), order=30, kind="rhythm"),
        on_line=partial(in_pairs, name="long-short", ratio=(3, 1)),
    ),
    Variant(
        VariantInfo("short-long", ("uneven", "crossing", "shift", "speed"), order=40, kind="rhythm"),
        on_line=partial(in_pairs, name="short-long", ratio=(1, 3)),
    ),
)
