"""What a player calls some bars: by the numbers that are printed, and a pick-up by its name.

A pick-up is bar 0 in the file, or has no number; the halves of a bar that a repeat sign splits are "X1", "X2" … in
files (seen there, no source). No printed part shows such numbers (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from excerpts.score.address import BarRange
from excerpts.score.bars import Bars
from excerpts.score.numbering import shifted

UNPRINTED: Final = re.compile(r"[Xx]\d*")
"""Numbers of bars that stand in files only."""


@dataclass(frozen=True, slots=True)
class Called:
    """Bars by their printed numbers.

    Attributes:
        first: Number of the first of them that has one; of the bar after a pick-up that stands alone.
        last: Number of the last of them; empty for a pick-up alone.
        pickup: "opening" where they begin with the pick-up of a piece or movement, "inner" where they begin with
            another bar without a number, else empty.
    """

    first: str
    last: str
    pickup: str = ""


def called(bars: Bars, span: BarRange, pupil_bars: int = 0) -> Called:
    """What the bars of a span are called.

    Args:
        bars: The bars of the part.
        span: The span.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are.
    """
    numbered = [index for index in range(span.first, span.last + 1) if _numbered(bars, index)]
    if not numbered and not any(_numbered(bars, index) for index in range(len(bars))):
        return Called(str(span.first + 1), str(span.last + 1))
    pickup = "" if span.first in numbered else "inner" if any(bars.labels[: span.first]) else "opening"
    if pickup and bars.labels[span.first] == "0":
        pickup = "opening"
    if numbered:
        first, last = (shifted(bars.labels[index], pupil_bars) for index in (numbered[0], numbered[-1]))
        return Called(first, last, pickup)
    after = (index for index in range(span.last + 1, len(bars)) if _numbered(bars, index))
    following = next(after, None)
    if following is not None:
        return Called(shifted(bars.labels[following], pupil_bars), "", pickup)
    before = next(index for index in range(span.first, -1, -1) if _numbered(bars, index))
    label = shifted(bars.labels[before], pupil_bars)
    return Called(label, label)


def _numbered(bars: Bars, index: int) -> bool:
    """Whether a player finds a number for a measure; a first bar of full length may be called 0."""
    label = bars.labels[index]
    if label == "0" or (index == 0 and bars.measures[0].get("implicit") == "yes"):
        return not bars.length(index) < bars.metre(index).length
    return bool(label) and not UNPRINTED.fullmatch(label)
