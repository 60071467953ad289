"""Slow: the same notes at another tempo, marked in front of them."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.notes.in_force import tempo_at_box
from excerpts.notes.retempo import beats_text, first_beat, retempo
from excerpts.variants.passage import where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.tempo_steps import slow_start

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
    """Set the tempo of the box to a number of the beats that its mark counts, or to half on the metronome.

    Raises:
        VariantError: There is no tempo to halve, or the number is not slower than the tempo in force.
    """
    return retempo(excerpt, _new_tempo(excerpt, Fraction(parameter) if parameter else None))


def _new_tempo(excerpt: Excerpt, number: Fraction | None) -> Tempo:
    old = tempo_at_box(excerpt)
    if number is None:
        if old is None:
            raise VariantError(
                "the score gives no tempo here, so there is none to halve.",
                where=where(excerpt),
                hint="Say how slow: slow:60.",
            )
        try:
            return slow_start(old)
        except ValueError as error:
            raise VariantError(
                f"the tempo, {beats_text(old.number)} beats a minute, is too slow to be halved.",
                where=where(excerpt),
            ) from error
    if old is None:
        return Tempo(number, first_beat(excerpt))
    if number >= old.number:
        raise VariantError(
            f"{beats_text(number)} is not slower than the tempo in force, {beats_text(old.number)}.",
            where=where(excerpt),
            hint=f"Give a number below {beats_text(old.number)}.",
        )
    return Tempo(number, old.unit)


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
