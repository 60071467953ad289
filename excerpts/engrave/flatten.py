"""Verovio's SVG becomes ink: nested svg, `use`, `defs`, transforms and text resolved, one list a system.

What is hidden stays out: placeholders, and groups with `visibility="hidden"`. Nothing else is dropped; an
element that is not known is an error, not a gap in the music.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from lxml import etree

from excerpts.engrave.geometry import Rect
from excerpts.engrave.ink import Ink, Owner, Paint
from excerpts.engrave.paths import Map, Outline, ellipse, polyline, read_path, rectangle
from excerpts.engrave.texts import text_inks
from excerpts.errors import EngravingError

UNITS_PER_STAFF = 720
"""Height of a staff in the units of the inner drawing: 8 half spaces of 9 units, tenfold."""
_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_TRANSFORM = re.compile(r"(translate|scale|rotate)\(([^)]*)\)")
_SKIPPED = frozenset({"desc", "title", "style", "defs"})
_OWN_NUMBERS = frozenset({"mNum"})
"""Bar numbers are set by us, clear of the boxes."""
_WHOLE = frozenset({"note", "rest", "chord", "mRest", "space", "mSpace"})


@dataclass(slots=True)
class Scene:
    """What is in force for an element of the SVG."""

    map: Map
    owner: Owner
    bold: bool = False
    italic: bool = False
    colour: str = ""
    visible: bool = True


@dataclass(slots=True)
class RawSystem:
    """One system as it comes from the engraver: ink in millimetres of the page, and its bars.

    Attributes:
        inks: All that is drawn.
        bars: (index of the bar, left, right) from the staff lines.
        staves: (top, bottom) of each staff from its lines, top to bottom.
    """

    inks: list[Ink] = field(default_factory=list)
    bars: list[tuple[int, float, float]] = field(default_factory=list)
    staves: list[tuple[float, float]] = field(default_factory=list)


def flatten(svg: bytes, staff_mm: float, bar_ids: dict[str, int], left_mm: float = 0.0) -> list[RawSystem]:
    """Turn one page of engraving into ink.

    Args:
        svg: The SVG document.
        staff_mm: Height that a staff is to have.
        bar_ids: Index of each bar by the id of its group.
        left_mm: Where the staves begin.

    Returns:
        The systems, top to bottom.

    Raises:
        EngravingError: The SVG has something that is not known.
    """
    root = etree.fromstring(svg)
    scale = staff_mm / UNITS_PER_STAFF
    reader = _Reader(_glyphs(root), bar_ids)
    page = root.find(f".//{_SVG}g[@class='page-margin']")
    if page is None:
        raise EngravingError("the engraver gave no page")
    base = Map(scale, 0.0, 0.0, scale, left_mm, 0.0).after(_transform(page.get("transform", "")))
    return [
        reader.system(group, base)
        for group in page.iterchildren(f"{_SVG}g")
        if group.get("class") == "system"
    ]


def _glyphs(root: etree._Element) -> dict[str, Outline]:
    glyphs: dict[str, Outline] = {}
    for group in root.iterfind(f".//{_SVG}defs/{_SVG}g"):
        for path in group.iterchildren(f"{_SVG}path"):
            outline = _glyph(path.get("d", ""), path.get("transform", ""))
            glyphs[group.get("id", "")] = outline
    return glyphs


_GLYPH_CACHE: dict[tuple[str, str], Outline] = {}


def _glyph(data: str, transform: str) -> Outline:
    key = (data, transform)
    if key not in _GLYPH_CACHE:
        _GLYPH_CACHE[key] = read_path(data).mapped(_transform(transform))
    return _GLYPH_CACHE[key]


def _transform(text: str) -> Map:
    total = Map()
    for name, values in _TRANSFORM.findall(text):
        numbers = [float(value) for value in values.replace(",", " ").split()]
        total = total.after(_one_transform(name, numbers))
    return total


def _one_transform(name: str, numbers: list[float]) -> Map:
    if name == "translate":
        return Map(e=numbers[0], f=numbers[1] if len(numbers) > 1 else 0.0)
    if name == "scale":
        return Map(a=numbers[0], d=numbers[-1])
    from math import cos, radians, sin

    angle = radians(numbers[0])
    x, y = (numbers[1], numbers[2]) if len(numbers) == 3 else (0.0, 0.0)
    turn = Map(cos(angle), sin(angle), -sin(angle), cos(angle))
    return Map(e=x, f=y).after(turn).after(Map(e=-x, f=-y))


class _Reader:
    """Walks the groups of one page."""

    def __init__(self, glyphs: dict[str, Outline], bar_ids: dict[str, int]) -> None:
        self.glyphs = glyphs
        self.bar_ids = bar_ids
        self.bar_of: dict[str, int] = {}

    def system(self, group: etree._Element, base: Map) -> RawSystem:
        system = RawSystem()
        scene = Scene(base, Owner(-1, "system"))
        for child in group.iterchildren(f"{_SVG}*"):
            name = child.get("class", "").split(" ")
            if "measure" in name:
                self._measure(child, scene, system)
            else:
                first = system.bars[-1][0] if system.bars else min(self.bar_ids.values(), default=0)
                origin = next((part[3:] for part in name if part.startswith("id-")), "")
                owner = Owner(self.bar_of.get(origin, first), name[0], "", origin, "spanning" in name)
                self._walk(child, replace(scene, owner=owner), system)
        return system

    def _measure(self, group: etree._Element, scene: Scene, system: RawSystem) -> None:
        index = self.bar_ids.get(group.get("id", ""))
        if index is None:
            raise EngravingError(f"the engraver drew a bar that it was not given: {group.get('id')}")
        edges: list[tuple[float, float, float]] = []
        for child in group.iterchildren(f"{_SVG}*"):
            ident = child.get("id", "")
            self.bar_of[ident] = index
            if child.get("class", "").split(" ")[0] == "staff":
                edges.append(self._staff_place(child, scene.map, system, len(edges)))
            self._walk(child, replace(scene, owner=Owner(index, "measure", "", ident)), system)
        if edges:
            system.bars.append((index, min(e[0] for e in edges), max(e[1] for e in edges)))

    def _staff_place(
        self, staff: etree._Element, place: Map, system: RawSystem, order: int
    ) -> tuple[float, float, float]:
        lines = [read_path(path.get("d", "")).box for path in staff.iterchildren(f"{_SVG}path")]
        boxes = [box for box in lines if box is not None]
        if not boxes:
            return (0.0, 0.0, 0.0)
        left, top = place.point(min(b.left for b in boxes), min(b.top for b in boxes))
        right, bottom = place.point(max(b.right for b in boxes), max(b.bottom for b in boxes))
        if order >= len(system.staves):
            system.staves.append((top, bottom))
        return (left, right, top)

    def _walk(self, element: etree._Element, scene: Scene, system: RawSystem) -> None:
        tag = str(element.tag).removeprefix(_SVG)
        if tag in _SKIPPED:
            return
        if tag == "g":
            inner = _entered(element, scene)
            if inner is not None:
                for child in element.iterchildren(f"{_SVG}*"):
                    self._walk(child, inner, system)
            return
        if not _shown(element, scene.visible):
            return
        if tag == "text":
            system.inks.extend(
                text_inks(element, scene.map, scene.owner, scene.bold, scene.italic, scene.colour)
            )
            return
        ink = self._shape(tag, element, scene)
        if ink is not None:
            system.inks.append(ink)

    def _shape(self, tag: str, element: etree._Element, scene: Scene) -> Ink | None:
        if tag == "use":
            outline = self.glyphs.get(element.get(_HREF, element.get("href", "")).lstrip("#"))
            if outline is None:
                raise EngravingError(f"the engraver drew a sign that it did not define: {element.get(_HREF)}")
            place = scene.map.after(_transform(element.get("transform", "")))
            if not outline.ops or place.scale == 0.0:
                return None
            return Ink(outline, place, scene.owner, Paint(colour=_colour(element, scene.colour)))
        outline = _outline(tag, element)
        place = scene.map.after(_transform(element.get("transform", "")))
        return Ink(outline, place, scene.owner, _paint(element, tag, place.scale, scene.colour))


def _entered(group: etree._Element, scene: Scene) -> Scene | None:
    """What is in force inside a group, or None if nothing in it is to be drawn."""
    names = group.get("class", "").split(" ")
    if "placeholder" in names or names[0] in _OWN_NUMBERS:
        return None
    owner = scene.owner
    if names[0] and not owner.spanning:
        note = owner.note
        if names[0] in _WHOLE and names[0] != "chord":
            note = group.get("id", "")
        owner = replace(owner, kind=names[0], note=note)
    return Scene(
        scene.map.after(_transform(group.get("transform", ""))) if group.get("transform") else scene.map,
        owner,
        names[0] in _BOLD if names[0] in _BOLD | _UPRIGHT else scene.bold,
        True if names[0] in _ITALIC else scene.italic,
        _colour(group, scene.colour),
        _shown(group, scene.visible),
    )


_BOLD = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC = frozenset({"dir", "dynam"})
_UPRIGHT = frozenset({"label"})


def _shown(element: etree._Element, inherited: bool) -> bool:
    value = element.get("visibility")
    return inherited if value is None else value != "hidden"


def _colour(element: etree._Element, inherited: str) -> str:
    for name in ("fill", "color"):
        value = element.get(name)
        if value and value not in {"none", "currentColor", "black", "#000000"}:
            return value
    return inherited


def _outline(tag: str, element: etree._Element) -> Outline:
    number = lambda name: float(element.get(name, "0"))  # noqa: E731 - eight uses on the next lines
    if tag == "path":
        return read_path(element.get("d", ""))
    if tag in {"polygon", "polyline"}:
        values = [float(value) for value in element.get("points", "").replace(",", " ").split()]
        points = list(zip(values[0::2], values[1::2], strict=True))
        return polyline(points, closed=tag == "polygon")
    if tag == "rect":
        x, y = number("x"), number("y")
        return rectangle(Rect(x, y, x + number("width"), y + number("height")))
    if tag == "ellipse":
        return ellipse(number("cx"), number("cy"), number("rx"), number("ry"))
    raise EngravingError(f"the engraver drew a shape that is not known: {tag}")


def _paint(element: etree._Element, tag: str, scale: float, colour: str) -> Paint:
    width = element.get("stroke-width")
    hollow = element.get("fill") == "none" or element.get("fill-opacity") == "0" or _straight(tag, element)
    stroke = float(width) if width is not None else (1.0 if hollow else 0.0)
    dash = element.get("stroke-dasharray", "").replace(",", " ").split()
    return Paint(
        fill=not hollow,
        stroke=stroke * scale,
        cap=element.get("stroke-linecap", "butt"),
        dash=tuple(float(value) * scale for value in dash),
        colour=_colour(element, colour),
    )


def _straight(tag: str, element: etree._Element) -> bool:
    """A shape of one line has no inside: filling it only makes the file longer."""
    if tag == "path":
        data = element.get("d", "")
        return "C" not in data and "c" not in data and data.count("L") <= 1
    return tag == "polyline" and element.get("points", "").count(",") <= 2
