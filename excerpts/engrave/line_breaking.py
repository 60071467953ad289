"""Line breaking: which bars share a system, evenly filled, with breaks at box edges where that is cheap.

The natural widths of the bars come from one endless system, of which only the ends of a staff line of each bar and a
few signs of the first bar are needed. They are found in its text by the engraver's way of writing (no white space, id
and class first in a group): making a tree of it takes ten times as long.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import inf, log

from excerpts.engrave.svg.flatten import UNITS_PER_STAFF
from excerpts.errors import EngravingError

IDEAL = 1.12
"""Stretch over the engraver's natural spacing that reads best on a stand."""
TIGHT = 0.95
"""Below this stretch the notes begin to crowd."""
TIGHT_SUNG = 1.05
"""The same with words under the notes: the engraver gives a syllable no more room than it takes."""
_TIGHT_WEIGHT = 12.0
_SPLIT_BOX = 0.04
"""Price of a break inside a box."""
_SHORT_END = 0.06
"""Price of a last system that ends before the margin."""
END_STRETCH = 1.6
"""How far the last of several systems is stretched to reach the margin: the one above it is stretched, too."""
_LEFT_OVER = 0.7
"""Price of a last system that ends early, for what it lacks to being stretched: a bar alone looks forgotten."""


@dataclass(frozen=True, slots=True)
class Widths:
    """Natural widths in millimetres.

    Attributes:
        bars: Width of each bar as it stands in the middle of a system.
        head: Width that clef and key take at the start of each system but the first, where they
            belong to the first bar.
        first_extra: Width that the first bar needs besides the head, for its time signature.
        tight: Stretch below which it begins to crowd.
    """

    bars: tuple[float, ...]
    head: float
    first_extra: float = 0.0
    tight: float = TIGHT

    def system(self, first: int, end: int) -> float:
        """Natural width of a system of the bars `first` up to but not including `end`."""
        return self.head + (self.first_extra if first == 0 else 0.0) + sum(self.bars[first:end])


def break_lines(
    widths: Widths, width: float, box_edges: frozenset[int], inside_box: frozenset[int], most_stretch: float
) -> tuple[int, ...]:
    """Choose where the systems begin.

    The sum over all systems of the squared logarithm of their stretch against the ideal is made least,
    by dynamic programming over the bars.

    Args:
        widths: Natural widths of the bars.
        width: Width of a system.
        box_edges: Bars at which a box begins or the music after one begins.
        inside_box: Bars before which a break would split a box.
        most_stretch: How far an only system is stretched at most; one that would need more ends early.

    Returns:
        Index of the first bar of each system; the first is 0.
    """
    count = len(widths.bars)

    def price(first: int, end: int) -> float:
        last = end == count
        cost = _fill_price(
            width / widths.system(first, end),
            last=last,
            alone=first == 0 and last,
            most=most_stretch,
            tight=widths.tight,
        )
        return cost + (_SPLIT_BOX if first in inside_box and first not in box_edges else 0.0)

    return _shortest(count, price)


def _fill_price(stretch: float, *, last: bool, alone: bool, most: float, tight: float) -> float:
    if alone and stretch > most:
        return 0.0
    if last and stretch > END_STRETCH:
        return _SHORT_END + _LEFT_OVER * (1 / END_STRETCH - 1 / stretch)
    off = log(stretch / IDEAL) ** 2
    if stretch < tight:
        off += _TIGHT_WEIGHT * log(stretch / tight) ** 2
    return off


def _shortest(count: int, price: Callable[[int, int], float]) -> tuple[int, ...]:
    best = [0.0] + [inf] * count
    came = [0] * (count + 1)
    for end in range(1, count + 1):
        for first in range(end):
            cost = best[first] + price(first, end)
            if cost < best[end] - 1e-12:
                best[end], came[end] = cost, first
    breaks: list[int] = []
    end = count
    while end > 0:
        breaks.append(came[end])
        end = came[end]
    return tuple(reversed(breaks))


_BAR = re.compile(rb'<g id="([^"]*)" class="measure">')
_LINES = re.compile(rb'<g id="[^"]*" class="staff[^"]*"[^>]*>((?:<path d="M[^>]*/>)+)')
"""The lines of a staff: they stand before all else in it. In tablature a line has a gap for each fret on it."""
_ENDS = re.compile(rb'"M(-?[\d.]+) -?[\d.]+ L(-?[\d.]+) ')
_SIGN = re.compile(rb'<g id="[^"]*" class="(clef|keyAccid|meterSig)[" ][^>]*>((?:<use [^>]*>)*)')
_PLACE = re.compile(rb"translate\((-?[\d.]+),")
_LAYER = re.compile(rb'<g id="[^"]*" class="layer[" ]')
_HEAD_GAP = 0.19
"""White that the engraver leaves behind clef, key and time, in staff heights."""
_SIGN_WIDTH = {"clef": 0.9, "keyAccid": 0.25, "meterSig": 0.6}
"""Width of the signs in staff heights, near enough to reckon how full a system is."""


def natural_widths(svg: bytes, bars: dict[str, int], staff_mm: float) -> Widths:
    """Measure the bars on one endless system.

    Clef and key of the first bar are what every further system begins with, near enough: a change of key
    on the way makes a difference of a few millimetres.

    Args:
        svg: The system as the engraver drew it.
        bars: Index of each bar by the id of its group.
        staff_mm: Height of a staff.

    Returns:
        The widths in millimetres.

    Raises:
        EngravingError: Bars are missing.
    """
    scale = staff_mm / UNITS_PER_STAFF
    starts = list(_BAR.finditer(svg))
    if [bars.get(start[1].decode()) for start in starts] != list(range(len(bars))):
        raise EngravingError("the engraver left out bars of the excerpt")
    ends = [*(start.start() for start in starts[1:]), len(svg)]
    widths = [_width(svg, start.end(), end) * scale for start, end in zip(starts, ends, strict=True)]
    layer = _LAYER.search(svg, starts[0].end(), ends[0])
    head = svg[starts[0].end() : layer.start() if layer else ends[0]]
    clef = _reach(head, (b"clef", b"keyAccid")) * scale
    full = _reach(head, (b"clef", b"keyAccid", b"meterSig")) * scale
    widths[0] -= full
    return Widths(tuple(widths), clef, full - clef)


def _width(svg: bytes, start: int, end: int) -> float:
    """Length of the staff lines of one bar in drawing units; 0 for a staff without lines."""
    lines = _LINES.search(svg, start, end)
    ends = [float(x) for pair in _ENDS.findall(lines[1]) for x in pair] if lines else [0.0]
    return max(ends) - min(ends)


def _reach(head: bytes, kinds: tuple[bytes, ...]) -> float:
    """How far the signs at the start of a bar reach to the right of its left edge, in drawing units."""
    reach = 0.0
    for kind, uses in _SIGN.findall(head):
        if kind in kinds:
            for x in _PLACE.findall(uses):
                reach = max(reach, float(x) + _SIGN_WIDTH[kind.decode()] * UNITS_PER_STAFF)
    return reach + _HEAD_GAP * UNITS_PER_STAFF if reach else 0.0
