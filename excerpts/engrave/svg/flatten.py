"""Verovio's SVG becomes ink: nested svg, `use`, `defs`, transforms and text resolved, one list a system.

What is hidden stays out: placeholders, and groups with `visibility="hidden"`. Nothing else is dropped; an
element that is not known is an error, not a gap in the music. Frames round words are made as wide as the words: the
engraver reckons with the widths of another text face.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

from fontTools.misc.transform import Transform
from lxml import etree

from excerpts.engrave.svg.ink import Ink, Owner
from excerpts.engrave.svg.letters import Run, text_inks
from excerpts.engrave.svg.paths import Outline, magnification, read_path
from excerpts.engrave.svg.shapes import (
    SVG,
    Attributes,
    filled,
    read_colour,
    read_glyphs,
    read_outline,
    read_paint,
    read_transform,
    text_colour,
)
from excerpts.errors import EngravingError

UNITS_PER_STAFF = 720
"""Height of a staff in the units of the inner drawing: 8 half spaces of 9 units, tenfold."""
_SAID_OF_ALL = b' stroke="currentColor"'
"""Stands on every shape and tells nothing: without it there is a tenth less to read."""
_GROUP = f"{SVG}g"
_HREF = "{http://www.w3.org/1999/xlink}href"
_SKIPPED = frozenset({"desc", "title", "style", "defs"})
_OWN_NUMBERS = frozenset({"mNum"})
"""Bar numbers are set by us, clear of the boxes."""
_NAMES = frozenset({"id", "class"})
_NOTES = frozenset({"note", "rest", "mRest", "space", "mSpace"})


@dataclass(slots=True)
class Scene:
    """What is in force for an element of the SVG."""

    map: Transform
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


def flatten(
    svg: bytes, staff_mm: float, bar_ids: dict[str, int], left_mm: float = 0.0, *, upright: bool = False
) -> list[RawSystem]:
    """Turn one page of engraving into ink.

    Args:
        svg: The SVG document.
        staff_mm: Height that a staff is to have.
        bar_ids: Index of each bar by the id of its group.
        left_mm: Where the staves begin.
        upright: No letters are italic.

    Returns:
        The systems, top to bottom.

    Raises:
        EngravingError: The SVG has something that is not known.
    """
    root = etree.fromstring(svg.replace(_SAID_OF_ALL, b""))
    scale = staff_mm / UNITS_PER_STAFF
    reader = _Reader(read_glyphs(root), bar_ids, upright)
    page = root.find(f".//{SVG}g[@class='page-margin']")
    if page is None:
        raise EngravingError("the engraver gave no page")
    base = Transform(scale, 0.0, 0.0, scale, left_mm, 0.0).transform(
        read_transform(page.get("transform", ""))
    )
    return [
        reader.system(group, base) for group in page.iterchildren(f"{SVG}g") if group.get("class") == "system"
    ]


class _Reader:
    """Walks the groups of one page."""

    def __init__(self, glyphs: dict[str, Outline], bar_ids: dict[str, int], upright: bool) -> None:
        self.upright = upright
        self.glyphs = glyphs
        self.bar_ids = bar_ids
        self.bar_of: dict[str, int] = {}

    def system(self, group: etree._Element, base: Transform) -> RawSystem:
        system = RawSystem()
        scene = Scene(base, Owner(-1, "system"))
        for child in group:
            name = child.get("class", "").split(" ")
            if "measure" in name:
                self._measure(child, scene, system)
            else:
                bar = self._next_bar(child) if name[0] == "ending" else None
                if bar is None:
                    bar = system.bars[-1][0] if system.bars else min(self.bar_ids.values(), default=0)
                origin = next((part[3:] for part in name if part.startswith("id-")), child.get("id", ""))
                bar = self.bar_of.setdefault(origin, bar)
                owner = Owner(bar, name[0] or "system", "", origin, "spanning" in name)
                self._walk((child,), Scene(base, owner), system)
        return system

    def _next_bar(self, element: etree._Element) -> int | None:
        """The bar that follows an element: the bracket of an ending stands before its first bar."""
        after = (self.bar_ids.get(sibling.get("id", "")) for sibling in element.itersiblings())
        return next((bar for bar in after if bar is not None), None)

    def _measure(self, group: etree._Element, scene: Scene, system: RawSystem) -> None:
        index = self.bar_ids.get(group.get("id", ""))
        if index is None:
            raise EngravingError(f"the engraver drew a bar that it was not given: {group.get('id')}")
        edges: list[tuple[float, float, float]] = []
        for child in group:
            ident = child.get("id", "")
            self.bar_of[ident] = index
            if child.get("class", "").split(" ")[0] == "staff":
                edges.append(self._staff_place(child, scene.map, system, len(edges)))
            self._walk((child,), Scene(scene.map, Owner(index, "measure", "", ident)), system)
        if edges:
            system.bars.append((index, min(e[0] for e in edges), max(e[1] for e in edges)))

    def _staff_place(
        self, staff: etree._Element, place: Transform, system: RawSystem, order: int
    ) -> tuple[float, float, float]:
        lines = [read_path(path.get("d", "")).box for path in staff.iterchildren(f"{SVG}path")]
        boxes = [box for box in lines if box is not None]
        if not boxes:
            return (0.0, 0.0, 0.0)
        left, top = place.transformPoint((min(b.left for b in boxes), min(b.top for b in boxes)))
        right, bottom = place.transformPoint((max(b.right for b in boxes), max(b.bottom for b in boxes)))
        if order >= len(system.staves):
            system.staves.append((top, bottom))
        return (left, right, top)

    def _walk(self, elements: Iterable[etree._Element], scene: Scene, system: RawSystem) -> None:
        for element in elements:
            tag, attributes = str(element.tag), dict(element.items())
            if tag == _GROUP:
                inner = _entered(attributes, scene) if len(element) else None
                if inner is not None:
                    start = len(system.inks)
                    self._walk(element, inner, system)
                    if inner.owner.kind in FRAMED:
                        fit_frame(system.inks, start)
                continue
            name = tag.removeprefix(SVG)
            shown = _shown(attributes) if "visibility" in attributes else scene.visible
            if name in _SKIPPED or not shown:
                continue
            if name == "text":
                face, colour = Run("", 0.0, scene.bold, scene.italic), text_colour(element, scene.colour)
                system.inks += text_inks(element, scene.map, scene.owner, face, colour, upright=self.upright)
                continue
            ink = self._sign(attributes, scene) if name == "use" else _shape(name, attributes, scene)
            if ink is not None:
                system.inks.append(ink)

    def _sign(self, attributes: Attributes, scene: Scene) -> Ink | None:
        name = attributes.get(_HREF) or attributes.get("href", "")
        outline = self.glyphs.get(name.lstrip("#"))
        if outline is None:
            raise EngravingError(f"the engraver drew a sign that it did not define: {name}")
        place = scene.map.transform(read_transform(attributes.get("transform", "")))
        if not outline.ops or magnification(place) == 0.0:
            return None
        return Ink(outline, place, scene.owner, filled(read_colour(attributes, scene.colour)))


def _shape(tag: str, attributes: Attributes, scene: Scene) -> Ink:
    outline = read_outline(tag, attributes)
    transform = attributes.get("transform")
    place = scene.map.transform(read_transform(transform)) if transform else scene.map
    owner = scene.owner
    if tag == "rect" and attributes.get("fill-opacity") != "0":  # else: a frame round words
        if owner.kind == "syl" or (owner.kind in _EXTENDED and not owner.note):
            owner = Owner(owner.bar, "extender", "", owner.origin, owner.spanning)
    return Ink(outline, place, owner, read_paint(attributes, tag, magnification(place), scene.colour))


def _entered(attributes: Attributes, scene: Scene) -> Scene | None:
    """What is in force inside a group, or None if nothing in it is to be drawn."""
    kind = _kind(attributes.get("class", ""))
    if kind is None:
        return None
    owner = scene.owner
    if kind and not owner.spanning:
        note = attributes.get("id", "") if kind in _NOTES else owner.note
        owner = Owner(owner.bar, kind, note, owner.origin)
    inner = Scene(scene.map, owner, scene.bold, scene.italic, scene.colour, scene.visible)
    if not attributes.keys() <= _NAMES:  # as few have more
        _styled(attributes, inner)
    if kind in _SETS_WEIGHT:
        inner.bold = kind in _BOLD
    if kind in _ITALIC:
        inner.italic = True
    return inner


def _styled(attributes: Attributes, scene: Scene) -> None:
    """Let the attributes of a group change what is in force in it."""
    transform = attributes.get("transform")
    weight, slope = attributes.get("font-weight"), attributes.get("font-style")
    if transform:
        scene.map = scene.map.transform(read_transform(transform))
    if weight is not None:
        scene.bold = weight == "bold"
    if slope is not None:
        scene.italic = slope != "normal"
    scene.colour = read_colour(attributes, scene.colour)
    if "visibility" in attributes:
        scene.visible = _shown(attributes)


@lru_cache(maxsize=512)
def _kind(names: str) -> str | None:
    """What a group is by its class, None for what is not drawn."""
    kind, *more = names.split(" ")
    if kind in _OWN_NUMBERS or "placeholder" in (kind, *more):
        return None
    return _SAME.get(kind, kind)


_SAME = {"voltaBracket": "ending"}
"""Groups inside a thing that are called otherwise than the thing."""
_BOLD = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC = frozenset({"dir", "dynam"})
_EXTENDED = frozenset({"dir", "dynam", "tempo"})
"""Words that dashes may follow, which reach further than the bar of the words."""
_SETS_WEIGHT = _BOLD | {"label"}


def _shown(attributes: Attributes) -> bool:
    return attributes.get("visibility") != "hidden"


FRAMED: Final = frozenset({"dir", "reh", "tempo", "dynam"})
"""Groups of the engraving that words in a frame stand in."""


def fit_frame(inks: list[Ink], start: int) -> None:
    """Widen the frame in a group of ink until its words have the white on the right that they have on the left.

    Where a group has several frames, which words stand in which is not known, and they stay as they are.

    Args:
        inks: The ink of a system so far.
        start: Index of the first ink of the group.
    """
    group = range(start, len(inks))
    frames = [index for index in group if not inks[index].paint.fill and not inks[index].stretches]
    letters = [inks[index].rect for index in group if inks[index].paint.fill]
    if len(frames) != 1 or not letters:
        return
    frame = inks[frames[0]]
    left, right = frame.rect.left, frame.rect.right
    wanted = max(rect.right for rect in letters) + max(min(rect.left for rect in letters) - left, 0.0)
    if wanted <= right or right <= left:
        return
    by = (wanted - left) / (right - left)
    wider = Transform(by, 0.0, 0.0, 1.0, left * (1 - by), 0.0)
    inks[frames[0]] = Ink(frame.outline, wider.transform(frame.map), frame.owner, frame.paint)
