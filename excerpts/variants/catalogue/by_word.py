"""The passage as it stands, and ways to practise that are a word to the player: they are not printed again.

Common practice of string teachers, no source.
"""

from __future__ import annotations

from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.variants.registry import Variant, VariantInfo, check_whole_number

PARTS: Final = ("heel", "lower-half", "middle", "upper-half", "point")
"""Parts of the bow, from the hand on."""


def as_printed(excerpt: Excerpt, parameter: str) -> Excerpt:
    """Leave the notes as they are."""
    del parameter
    return excerpt


def check_part(parameter: str) -> None:
    """Refuse what is not a part of the bow.

    Raises:
        VariantError: It is none of the five.
    """
    if parameter and parameter not in PARTS:
        raise VariantError(
            f"{parameter!r} in 'bow-part:{parameter}' is not a part of the bow.",
            hint=f"Choose from {', '.join(PARTS)}.",
        )


def check_rounds(parameter: str) -> None:
    """Refuse what is no number of rounds.

    Raises:
        VariantError: It is not a whole number from 1 to 20.
    """
    check_whole_number("half-and-full", parameter, 1, 20, "number of rounds")


def _word(name: str, faults: tuple[str, ...], order: int, kind: str = "") -> Variant:
    info = VariantInfo(name, faults, same_notes=True, order=order, kind=kind, spoken=True)
    return Variant(info, on_excerpt=as_printed)


VARIANTS = (
    Variant(
        VariantInfo("as-written", ("speed", "reading"), same_notes=True, order=10, again=True),
        on_excerpt=as_printed,
    ),
    _word("sing", ("intonation", "memory", "rhythm"), 110),
    _word("count-aloud", ("rhythm", "reading"), 111),
    _word("drone", ("intonation", "tone"), 112),
    _word("look-away", ("memory", "reading"), 113),
    Variant(
        VariantInfo(
            "half-and-full",
            ("speed",),
            parameter="ROUNDS",
            same_notes=True,
            order=114,
            kind="tempo",
            spoken=True,
        ),
        on_excerpt=as_printed,
        check=check_rounds,
    ),
    Variant(
        VariantInfo(
            "bow-part",
            ("tone", "bow-distribution"),
            parameter="|".join(PARTS),
            same_notes=True,
            order=115,
            shown=("upper-half",),
            spoken=True,
        ),
        on_excerpt=as_printed,
        check=check_part,
    ),
    _word("left-hand", ("coordination", "shift", "intonation"), 94, "hand"),
    _word("silent-bow", ("coordination", "memory", "rhythm"), 95, "hand"),
)
