"""Natural widths of the bars, from one endless system."""

from __future__ import annotations

from lxml import etree

from excerpts.engrave.flatten import UNITS_PER_STAFF
from excerpts.engrave.lines import Widths
from excerpts.engrave.paths import read_path
from excerpts.errors import EngravingError

_SVG = "{http://www.w3.org/2000/svg}"
_MEASURES = etree.XPath(
    "s:svg/s:g[@class='page-margin']/s:g[@class='system']/s:g[@class='measure']",
    namespaces={"s": "http://www.w3.org/2000/svg"},
)
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
    root = etree.fromstring(svg)
    scale = staff_mm / UNITS_PER_STAFF
    groups = _MEASURES(root)
    if [bars.get(group.get("id", "")) for group in groups] != list(range(len(bars))):
        raise EngravingError("the engraver left out bars of the excerpt")
    widths = [_width(group) * scale for group in groups]
    head = _reach(groups[0], ("clef", "keyAccid")) * scale
    full = _reach(groups[0], ("clef", "keyAccid", "meterSig")) * scale
    widths[0] -= full
    return Widths(tuple(widths), head, full - head)


def _width(measure: etree._Element) -> float:
    for staff in measure.iterchildren(f"{_SVG}g"):
        line = staff.find(f"{_SVG}path") if staff.get("class", "").startswith("staff") else None
        box = read_path(line.get("d", "")).box if line is not None else None
        if box is not None:
            return box.width
    return 0.0


def _reach(measure: etree._Element, kinds: tuple[str, ...]) -> float:
    """How far the signs at the start of a bar reach to the right of its left edge, in drawing units."""
    reach = 0.0
    for group in measure.iter(f"{_SVG}g"):
        kind = group.get("class", "").split(" ")[0]
        if kind == "layer":
            break
        if kind not in kinds:
            continue
        for use in group.iterchildren(f"{_SVG}use"):
            x = float(use.get("transform", "translate(0,").split("(", 1)[1].split(",", 1)[0])
            reach = max(reach, x + _SIGN_WIDTH[kind] * UNITS_PER_STAFF)
    return reach + _HEAD_GAP * UNITS_PER_STAFF if reach else 0.0
