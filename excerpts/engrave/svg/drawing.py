"""A finished drawing: coloured ink, and how it is written as a flat SVG with few, absolute paths.

Coordinates are whole numbers of 1/200 mm: finer than a printer of 2400 dots an inch, and short to write.
"""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from typing import NamedTuple

from fontTools.misc.transform import Transform

from excerpts.engrave.svg.ink import Ink, Paint
from excerpts.engrave.svg.paths import Op, Outline, magnification

UNITS_PER_MM = 200
_CURVES = frozenset({"slur", "tie", "lv", "phrase"})


class Coloured(NamedTuple):
    """Ink with its final colour."""

    ink: Ink
    colour: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """What one picture shows, from the top left corner, in millimetres.

    Attributes:
        width_mm: Width of the picture.
        height_mm: Height of the picture.
        inks: The ink in the order of painting, in the millimetres of its page.
        top_mm: The top of the picture as a y of that page.
    """

    width_mm: float
    height_mm: float
    inks: tuple[Coloured, ...]
    top_mm: float = 0.0

    def body(self) -> str:
        """The SVG elements, without the root."""
        groups: dict[tuple[str, Paint, int], list[str]] = {}
        texts: list[str] = []
        for order, (ink, colour) in enumerate(self.inks):
            if ink.fallback:
                texts.append(_fallback(ink, colour, self.top_mm))
                continue
            # Curves are kept apart: where two of them cross, one path with both could have a hole.
            key = (colour, ink.paint, order if ink.owner.kind in _CURVES else -1)
            if key not in groups:
                groups[key] = []
            groups[key].append(_data(ink, self.top_mm))
        paths = [_path(key[0], key[1], "".join(data)) for key, data in groups.items()]
        return "".join(paths + texts)

    def svg(self) -> str:
        """The drawing as a standalone SVG document in millimetres."""
        return document(self.body(), self.width_mm, self.height_mm)


def document(body: str, width_mm: float, height_mm: float) -> str:
    """Wrap SVG elements in 1/200 mm in a root element of that size."""
    box = f"0 0 {_units(width_mm)} {_units(height_mm)}"
    size = f'width="{_short(width_mm)}mm" height="{_short(height_mm)}mm"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}">{body}</svg>'


def data_uri(svg: str) -> str:
    """An SVG document as the `src` of an `<img>`."""
    return "data:image/svg+xml;base64," + b64encode(svg.encode("utf-8")).decode("ascii")


def _units(mm: float) -> int:
    return round(mm * UNITS_PER_MM)


def _short(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"


def _path(colour: str, paint: Paint, data: str) -> str:
    fill = f'fill="{colour}"' if paint.fill else 'fill="none"'
    stroke = ""
    if paint.stroke > 0:
        width = _short(paint.stroke * UNITS_PER_MM)
        stroke = f' stroke="{colour}" stroke-width="{width}"'
        if paint.cap != "butt":
            stroke += f' stroke-linecap="{paint.cap}"'
        if paint.cap == "round":
            stroke += ' stroke-linejoin="round"'
        if paint.dash:
            stroke += f' stroke-dasharray="{" ".join(_short(d * UNITS_PER_MM) for d in paint.dash)}"'
    return f'<path {fill}{stroke} d="{data}"/>'


def _data(ink: Ink, top: float) -> str:
    a, b, c, d, e, f = ink.map
    x, y, ops = _units(e), _units(f - top), ink.outline.ops
    if b or c:
        head, tail = _written(ink.outline.mapped(Transform(a, b, c, d)), UNITS_PER_MM, UNITS_PER_MM)
    elif len(ops) == 2 and ops[1][0] == "L":
        head, tail = _stroke(ops, a * UNITS_PER_MM, d * UNITS_PER_MM)
    else:
        head, tail = _relative(ink.outline, a * UNITS_PER_MM, d * UNITS_PER_MM)
    return f"M{x + head[0]} {y + head[1]}{tail}"


def _stroke(ops: tuple[Op, ...], sx: float, sy: float) -> tuple[tuple[int, int], str]:
    """A line between two points, as half of all ink is: shorter to write than to look up."""
    (_, (x0, y0)), (_, (x1, y1)) = ops
    x, y = round(x0 * sx), round(y0 * sy)
    return (x, y), f"l{round(x1 * sx) - x} {round(y1 * sy) - y}".replace(" -", "-")


@lru_cache(maxsize=8192)
def _relative(outline: Outline, sx: float, sy: float) -> tuple[tuple[int, int], str]:
    """An outline written relative to its first point: the same for every place that it stands at."""
    return _written(outline, sx, sy)


def _written(outline: Outline, sx: float, sy: float) -> tuple[tuple[int, int], str]:
    head: tuple[int, int] | None = None
    parts: list[str] = []
    x = y = 0
    start = (0, 0)
    for letter, values in outline.ops:
        if letter == "C":
            x1, y1, x2, y2, x3, y3 = values
            ahead = f"{round(x1 * sx) - x} {round(y1 * sy) - y} {round(x2 * sx) - x} {round(y2 * sy) - y}"
            to_x, to_y = round(x3 * sx), round(y3 * sy)
            parts.append(f"c{ahead} {to_x - x} {to_y - y}")
            x, y = to_x, to_y
        elif letter == "Z":
            parts.append("z")
            x, y = start
        else:
            to_x, to_y = round(values[0] * sx), round(values[1] * sy)
            if head is None:
                head = (to_x, to_y)
            else:
                parts.append(f"{letter.lower()}{to_x - x} {to_y - y}")
            x, y = to_x, to_y
            if letter == "M":
                start = (x, y)
    return head or (0, 0), "".join(parts).replace(" -", "-")


def _fallback(ink: Ink, colour: str, top: float) -> str:
    m = ink.map
    return (
        f'<text x="{_units(m.dx)}" y="{_units(m.dy - top)}" font-size="{_units(magnification(m))}" fill="{colour}" '
        f'font-family="serif">{escape(ink.fallback, quote=False)}</text>'
    )
