"""Addresses of bars as a teacher writes them, resolved to exact places in a part.

12, 12-16        bars as printed             12:3-16:1   from beat to beat, the end beat included
C, C-D, C+2      from rehearsal marks        @1-@4       by place in the file, counted from 1
mark:12          a mark that is a number
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

_DASH: Final = re.compile(r"\s*[-\u2013\u2014]\s*")
_END: Final = re.compile(
    r"^(?:(?P<mark>mark:)(?P<marked>[^:+]+)|@(?P<place>[0-9]+)|(?P<name>[^:+@]+))"
    r"(?:\+(?P<plus>[0-9]+))?(?::(?P<beat>[0-9]{1,6}(?:\.[0-9]{1,6})?))?$"
)


@dataclass(frozen=True, slots=True)
class BarRange:
    """A resolved address: measures by index from 0, onsets in quarter notes from the start of their measure.

    Attributes:
        first: Measure that the box begins in.
        start: Onset of its beginning in that measure.
        last: Measure that it ends in (included).
        end: Onset of its end in that measure, up to but not including.
    """

    first: int
    start: Fraction
    last: int
    end: Fraction


@dataclass(frozen=True, slots=True)
class End:
    """One side of an address, as written."""

    text: str
    place: int | None
    name: str
    is_mark: bool
    plus: int | None
    beat: Fraction | None


def sides(text: str) -> list[tuple[str, str]]:
    """The ways to split an address at a dash, for labels and marks may have dashes of their own."""
    ways: list[tuple[str, str]] = []
    for dash in _DASH.finditer(text):
        first, last = text[: dash.start()], text[dash.end() :]
        if first and last:
            ways.append((first, last))
    return ways


def parse_end(side: str) -> End | None:
    """Read one side of an address; None where it is none."""
    match = _END.match(side)
    if match is None:
        return None
    plus, beat = match["plus"], match["beat"]
    return End(
        text=side,
        place=int(match["place"]) if match["place"] and len(match["place"]) < 10 else None,
        name=(match["marked"] or match["name"] or f"@{match['place']}").strip(),
        is_mark=match["mark"] is not None,
        plus=int(plus) if plus and len(plus) < 10 else None,
        beat=_exact(beat) if beat else None,
    )


def _exact(beat: str) -> Fraction:
    """A beat as written; 1.33 and 1.67 mean thirds, 1.17 a sixth, for nobody writes more decimals."""
    written = Fraction(beat)
    near = written.limit_denominator(12)
    return near if abs(near - written) <= Fraction(1, 100) else written
