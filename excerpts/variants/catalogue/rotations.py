"""Rhythms on groups of two, three, four and six notes that have names of their own.

Which there are: string teachers' common practice, no source; the ratios are those of the written values.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from excerpts.notes import Voice
from excerpts.variants.ratios import FORMS, Rhythm, check_form, in_rhythm
from excerpts.variants.registry import Variant, VariantInfo

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


VARIANTS = tuple(
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
)
