"""Single shapes of an SVG: transforms, defined signs, outlines, and how they are painted."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from math import radians

from fontTools.misc.transform import Transform
from lxml import etree

from excerpts.engrave.svg.ink import Paint
from excerpts.engrave.svg.paths import Outline, ellipse, polyline, read_path, rectangle
from excerpts.engrave.svg.rect import Rect
from excerpts.errors import EngravingError

SVG = "{http://www.w3.org/2000/svg}"
_PLACED = re.compile(r"translate\((-?[\d.]+), (-?[\d.]+)\) scale\((-?[\d.]+), (-?[\d.]+)\)")
_TRANSFORM = re.compile(r"(translate|scale|rotate)\(([^)]*)\)")


def read_glyphs(root: etree._Element) -> dict[str, Outline]:
    """The signs that a page defines, by their ids."""
    glyphs: dict[str, Outline] = {}
    for group in root.iterfind(f"{SVG}defs/{SVG}g"):
        for path in group.iterchildren(f"{SVG}path"):
            outline = _glyph(path.get("d", ""), path.get("transform", ""))
            glyphs[group.get("id", "")] = outline
    return glyphs


_GLYPH_CACHE: dict[tuple[str, str], Outline] = {}


def _glyph(data: str, transform: str) -> Outline:
    key = (data, transform)
    if key not in _GLYPH_CACHE:
        _GLYPH_CACHE[key] = read_path(data).mapped(read_transform(transform))
    return _GLYPH_CACHE[key]


Attributes = Mapping[str, str]
"""The attributes of an element: asking the element itself for each takes five times as long."""


def read_transform(text: str) -> Transform:
    """Read an SVG transform list of translate, scale and rotate."""
    placed = _PLACED.fullmatch(text)
    if placed:  # a sign at its place: each is another one
        x, y, across, down = map(float, placed.groups())
        return Transform(across, 0.0, 0.0, down, x, y)
    return _read_transform(text)


@lru_cache(maxsize=1024)
def _read_transform(text: str) -> Transform:
    total = Transform()
    for name, values in _TRANSFORM.findall(text):
        numbers = [float(value) for value in values.replace(",", " ").split()]
        if name == "rotate":
            angle, x, y = (*numbers, 0.0, 0.0)[:3]
            total = total.translate(x, y).rotate(radians(angle)).translate(-x, -y)
        else:
            total = getattr(total, name)(*numbers)
    return total


@lru_cache(maxsize=64)
def filled(colour: str) -> Paint:
    """A plain fill in a colour of the source, "" for the style's."""
    return Paint(colour=colour)


def read_colour(attributes: Attributes, inherited: str) -> str:
    """The colour that the source gives an element; black is no colour of its own."""
    for name in ("fill", "color"):
        value = attributes.get(name)
        if value and value not in {"none", "currentColor", "black", "#000000"}:
            return value
    return inherited


_COLOUR_SIGNS = 0xF0000
_COLOUR_SIGN = re.compile("[\U000f0000-\U000f0fff]")


def colour_sign(colour: str) -> str:
    """A private character for a colour "#rrggbb", to stand behind a text whose colour the engraver loses.

    It has four bits for each of red, green and blue; "" for what is no such colour, and for black.
    """
    if not re.fullmatch("#[0-9A-Fa-f]{6}", colour) or colour == "#000000":
        return ""
    return chr(_COLOUR_SIGNS + int(colour[1::2], 16))


def text_colour(text: etree._Element, inherited: str) -> str:
    """The colour of a text: that of a part of it, or what a sign in it says, which is taken out of it."""
    colour = inherited
    for part in text.iter():
        colour = read_colour(dict(part.attrib), colour)
        if found := _COLOUR_SIGN.search(part.text or ""):
            colour = "#" + "".join(2 * digit for digit in f"{ord(found.group()) - _COLOUR_SIGNS:03x}")
            part.text = _COLOUR_SIGN.sub("", part.text or "")
    return colour


def _number(attributes: Attributes, name: str) -> float:
    return float(attributes.get(name, "0"))


def read_outline(tag: str, attributes: Attributes) -> Outline:
    """The outline of a drawn element.

    Raises:
        EngravingError: It is a shape that is not known.
    """
    if tag == "path":
        return read_path(attributes.get("d", ""))
    if tag in {"polygon", "polyline"}:
        values = [float(value) for value in attributes.get("points", "").replace(",", " ").split()]
        points = list(zip(values[0::2], values[1::2], strict=True))
        return polyline(points, closed=tag == "polygon")
    if tag == "rect":
        x, y, width, height = (_number(attributes, name) for name in ("x", "y", "width", "height"))
        return rectangle(Rect(x, y, x + width, y + height))
    if tag == "ellipse":
        cx, cy, rx, ry = (_number(attributes, name) for name in ("cx", "cy", "rx", "ry"))
        return ellipse(cx, cy, rx, ry)
    raise EngravingError(f"the engraver drew a shape that is not known: {tag}")


def read_paint(attributes: Attributes, tag: str, scale: float, colour: str) -> Paint:
    """How an element is painted, `scale` being the size of its units in millimetres."""
    get = attributes.get
    hollow = get("fill") == "none" or get("fill-opacity") == "0" or _straight(tag, attributes)
    return _made_paint(
        hollow,
        get("stroke-width"),
        get("stroke-linecap", "butt"),
        get("stroke-dasharray", ""),
        scale,
        read_colour(attributes, colour),
    )


@lru_cache(maxsize=1024)
def _made_paint(hollow: bool, width: str | None, cap: str, dashes: str, scale: float, colour: str) -> Paint:
    stroke = float(width) if width is not None else (1.0 if hollow else 0.0)
    return Paint(
        fill=not hollow,
        stroke=stroke * scale,
        cap=cap,
        dash=tuple(float(value) * scale for value in dashes.replace(",", " ").split()),
        colour=colour,
    )


def _straight(tag: str, attributes: Attributes) -> bool:
    """A shape of one line has no inside: filling it only makes the file longer."""
    if tag == "path":
        data = attributes.get("d", "")
        return "C" not in data and "c" not in data and data.count("L") <= 1
    return tag == "polyline" and attributes.get("points", "").count(",") <= 2
