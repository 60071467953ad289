"""Natural widths of the bars, from one endless system.

Only the ends of a staff line of each bar and a few signs of the first are wanted of it. They are looked for in the
text, as the engraver writes it: no white space, the id and the class of a group before all else. Making a tree of all
notes takes ten times as long.
"""

from __future__ import annotations

import re

from excerpts.engrave.line_breaking import Widths
from excerpts.engrave.svg.flatten import UNITS_PER_STAFF
from excerpts.errors import EngravingError

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
