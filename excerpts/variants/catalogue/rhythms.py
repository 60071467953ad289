"""Rhythms of groups: long–short and short–long pairs, those with names of their own, and the teacher's own ratio.

The first note of a long–short pair is three times as long as the second; a dotted figure that has the rhythm already is
left alone, the other one turned round. Which rhythms of two, three, four and six notes have names: string teachers'
common practice, no source; the ratios are those of the written values.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from excerpts.notes import Voice
from excerpts.variants.pairs import no_pairs
from excerpts.variants.ratios import FORMS, Rhythm, check_form, in_rhythm, plain_groups, read_ratio
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


_PLAIN: Final = "3-1"
"""What 'rhythm' alone means."""


def check_ratio(parameter: str) -> None:
    """Refuse a parameter that is no ratio.

    Raises:
        VariantError: It is not positive whole numbers with hyphens between, or the form is not known.
    """
    read_ratio(parameter or _PLAIN)


def rhythm(line: Voice, parameter: str) -> Voice:
    """Share the time of each group by the ratio."""
    return in_rhythm(line, read_ratio(parameter or _PLAIN))


_RATIOS: Final = {
    "double-dotted": (7, 1),
    "triplet-long-short": (2, 1),
    "triplet-short-long": (1, 2),
    "long-short-short": (2, 1, 1),
    "short-long-short": (1, 2, 1),
    "short-short-long": (1, 1, 2),
    "long-short-short-short": (3, 1, 1, 1),
    "short-long-short-short": (1, 3, 1, 1),
    "short-short-long-short": (1, 1, 3, 1),
    "short-short-short-long": (1, 1, 1, 3),
    "long-short-short-long": (2, 1, 1, 2),
    "short-long-long-short": (1, 2, 2, 1),
    "long-long-short-short": (2, 2, 1, 1),
    "short-short-long-long": (1, 1, 2, 2),
    "long-five-short": (3, 1, 1, 1, 1, 1),
}
_THREE: Final = 3
_FAULTS: Final = {2: ("coordination", "speed", "uneven")}


def _apply(line: Voice, parameter: str, name: str) -> Voice:
    ratio = _RATIOS[name]
    return in_rhythm(
        line, Rhythm(name + (f":{parameter}" if parameter else ""), ratio, parameter, _of_threes(ratio))
    )


def _of_threes(ratio: tuple[int, ...]) -> tuple[int, ...]:
    """A long note and two short ones as they share three equal parts: crotchet and two semiquavers in 6/8."""
    return tuple(2 * share if share > 1 else 1 for share in ratio) if len(ratio) == _THREE else ()


VARIANTS = (
    Variant(
        VariantInfo("long-short", ("uneven", "shift", "speed"), order=30, kind="rhythm"),
        on_line=partial(in_pairs, name="long-short", ratio=(3, 1)),
    ),
    Variant(
        VariantInfo("short-long", ("uneven", "crossing", "shift", "speed"), order=40, kind="rhythm"),
        on_line=partial(in_pairs, name="short-long", ratio=(1, 3)),
    ),
    Variant(
        VariantInfo(
            "rhythm",
            ("uneven", "coordination", "speed"),
            parameter="RATIO[:FORM]",
            order=60,
            kind="rhythm",
            shown=("5-1-1-1",),
        ),
        on_line=rhythm,
        check=check_ratio,
    ),
    *(
        Variant(
            VariantInfo(
                name,
                _FAULTS.get(len(ratio), ("uneven", "speed")),
                parameter="|".join(FORMS),
                order=41 + place,
                kind="rhythm",
            ),
            on_line=partial(_apply, name=name),
            check=partial(check_form, name),
        )
        for place, (name, ratio) in enumerate(_RATIOS.items())
    ),
)
