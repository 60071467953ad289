"""Bars whose time makes no sense: no rhythm can be made of an hour, or of dust.

They come from sources with wrong divisions or durations. To look for beats in them would take for ever.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import number_in
from excerpts.musicxml.timeline import divisions_in

_LONGEST_BAR: Final = 400
"""Quarter notes: a cadenza of some minutes in one bar."""

_FINEST: Final = 20_000
"""Parts of a quarter note that a length may be counted in; programs count in 10,080 at the most."""


def refuse_senseless(excerpt: Excerpt, finest: Iterable[int], where: str) -> None:
    """See that the bars of an excerpt have lengths that rhythms can be made of.

    Args:
        excerpt: The excerpt.
        finest: For each bar the finest part of a quarter note in it (see `finest_parts`).
        where: The passage, for messages.

    Raises:
        VariantError: One is far too long, or cut into dust; the message says which.
    """
    for bar, measure in zip(excerpt.bars, finest, strict=False):
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


def _finest(lengths: set[str | None], divisions: Fraction) -> int:
    """The finest part of a quarter note among `<duration>`s counted in some divisions."""
    told = (number_in(text) for text in lengths)
    return max(((ticks / divisions).denominator for ticks in told if ticks is not None), default=1)


def finest_parts(root: etree._Element) -> list[int]:
    """For each bar the finest part of a quarter note that a length in it is counted in."""
    finest: list[int] = []
    divisions = Fraction(1)
    for measure in root.iterfind("part/measure"):
        parts = 1
        lengths: set[str | None] = set()
        for child in measure:
            if child.tag == "attributes":
                parts = max(parts, _finest(lengths, divisions))
                lengths.clear()
                divisions = divisions_in(child) or divisions
            else:
                lengths.add(child.findtext("duration"))
        finest.append(max(parts, _finest(lengths, divisions)))
    return finest
