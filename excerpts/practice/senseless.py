"""Bars whose time makes no sense: no rhythm can be made of an hour, or of dust.

They come from sources with wrong divisions or durations. To look for beats in them would take for ever.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.score.timeline import divisions_in, number_in

_LONGEST_BAR: Final = 400
"""Quarter notes: a cadenza of some minutes in one bar."""

_FINEST: Final = 20_000
"""Parts of a quarter note that a length may be counted in; programs count in 10,080 at the most."""


def refuse_senseless(excerpt: Excerpt, root: etree._Element, where: str) -> None:
    """See that the bars of an excerpt have lengths that rhythms can be made of.

    Raises:
        VariantError: One is far too long, or cut into dust; the message says which.
    """
    for bar, measure in zip(excerpt.bars, _measures(root), strict=False):
        if bar.length > _LONGEST_BAR:
            raise VariantError(
                f"bar {bar.label} is {float(bar.length):g} quarter notes long.", where=where, hint=_HINT
            )
        if measure > _FINEST:
            raise VariantError(
                f"the notes of bar {bar.label} are counted in {measure:,} parts of a quarter note.",
                where=where,
                hint=_HINT,
            )


_HINT: Final = "Something is wrong with its durations in the score."


def _measures(root: etree._Element) -> list[int]:
    """For each bar the finest part of a quarter note that a length in it is counted in."""
    finest: list[int] = []
    divisions = Fraction(1)
    for measure in root.iterfind("part/measure"):
        parts = 1
        for child in measure:
            if child.tag == "attributes":
                divisions = divisions_in(child) or divisions
            elif (ticks := number_in(child.findtext("duration"))) is not None:
                parts = max(parts, (ticks / divisions).denominator)
        finest.append(parts)
    return finest
