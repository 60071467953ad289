"""Engraved music as a ready image: its shapes go into the PDF as they are, without another reading of SVG.

A page may show hundreds of systems, and reading each of them as SVG would cost most of the build. The flat
SVG of the engraver has only `<path>` elements with whole numbers; they are turned into PDF operators once
(ISO 32000-2, 8.4 and 8.5). WeasyPrint takes such an object through its documented `cache` option and calls
the two methods that it calls on any image.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from lxml import etree

from excerpts.workbook.shared_shapes import named

_NUMBERS = {"m": 2, "l": 2, "c": 6}
_STEP = re.compile(r"([MLCZmlcz])([^MLCZmlcz]*)")
_NUMBER = re.compile(r"-?\d+")
_SHAPE = re.compile(r"M(-?\d+)[ ,]?(-?\d+)(?:l(-?\d+) ?(-?\d+)(?=M|$)|([^M]*))")
"""One shape: where it begins, and a step to the end of a line, or all else that it goes on with.

"M" begins a shape of its own, which is painted by itself: the holes of a shape begin with "m"."""
_ABSOLUTE = re.compile(r"[LCMZ]")
_CAPS = {"butt": 0, "round": 1, "square": 2}
_PX_PER_MM = 96 / 25.4


class UnknownShapeError(ValueError):
    """The SVG has something that is no plain path: the page reads it as SVG instead."""


class DrawnMusic:
    """One engraved system for WeasyPrint.

    Args:
        svg: The engraver's flat SVG.
        width_mm: Width of the picture.
        height_mm: Height of the picture.
        past_mm: How far ink reaches past its left and its right side.

    Raises:
        UnknownShapeError: The SVG has more in it than plain paths.
    """

    def __init__(
        self, svg: str, width_mm: float, height_mm: float, past_mm: tuple[float, float] = (0.0, 0.0)
    ) -> None:
        self.past_mm = past_mm
        root = etree.fromstring(svg.encode("utf-8"))
        _, _, self._width, self._height = (float(value) for value in root.get("viewBox", "").split())
        self._size = (width_mm * _PX_PER_MM, height_mm * _PX_PER_MM)
        self._operators = "\n".join(_path(element) for element in root).encode("ascii")

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS pixels, and their ratio."""
        width, height = self._size
        return width, height, width / height

    def draw(self, stream: Any, width: float, height: float, _style: Any) -> None:
        """Put the shapes into a page's stream, `width` by `height` large."""
        stream.push_state()
        stream.transform(a=width / self._width, d=height / self._height)
        stream.stream.append(self._operators)
        stream.pop_state()


def _path(element: etree._Element) -> str:
    if etree.QName(element).localname != "path" or element.get("transform"):
        raise UnknownShapeError(str(element.tag))
    fill, stroke = element.get("fill", "none"), element.get("stroke", "none")
    operators = ["q"]
    if fill != "none":
        operators.append(f"{_colour(fill)} rg")
    if stroke != "none":
        operators += _pen(element, stroke)
    paint = "B" if fill != "none" and stroke != "none" else "f" if fill != "none" else "S"
    operators += [_shape(paint, *shape) for shape in _SHAPE.findall(element.get("d", ""))]
    operators.append("Q")
    return "\n".join(operators)


def _shape(paint: str, x: str, y: str, dx: str, dy: str, rest: str) -> str:
    """One shape of a path at its place: a notehead has the same operators wherever it stands."""
    if dx:  # a line, as half of all shapes are
        return f"q 1 0 0 1 {x} {y} cm\n0 0 m\n{dx} {dy} l\n{paint} Q"
    if _ABSOLUTE.search(rest):
        return f"{_outline(f'M{x} {y}{rest}')}\n{paint}"
    return f"q 1 0 0 1 {x} {y} cm\n{_from_origin(rest, paint)} Q"


@lru_cache(maxsize=4096)
def _from_origin(rest: str, paint: str) -> str:
    """The operators of a shape that begins at 0 0 and goes on in steps from point to point, and of its paint."""
    operators = f"{_outline(f'M0 0{rest}')}\n{paint}"
    # The box that a named shape needs would have to be larger by a pen, whose width is not known here.
    name = named(rest, operators) if paint == "f" else None
    return f"/{name} Do" if name else operators


def _pen(element: etree._Element, colour: str) -> list[str]:
    dash = element.get("stroke-dasharray", "")
    return [
        f"{_colour(colour)} RG",
        f"{element.get('stroke-width', '1')} w",
        f"{_CAPS[element.get('stroke-linecap', 'butt')]} J",
        f"{1 if element.get('stroke-linejoin') == 'round' else 0} j",
        f"[{dash}] 0 d",
    ]


def _colour(text: str) -> str:
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise UnknownShapeError(text)
    return " ".join(f"{int(text[place : place + 2], 16) / 255:.3f}" for place in (1, 3, 5))


def _outline(data: str) -> str:
    """Path data of whole numbers as PDF operators, which know absolute points only."""
    steps: list[str] = []
    x = y = 0
    start = (0, 0)
    for letter, numbers in _STEP.findall(data):
        if letter in "zZ":
            steps.append("h")
            x, y = start
            continue
        values = [int(number) for number in _NUMBER.findall(numbers)]
        size = _NUMBERS[letter.lower()]
        operator = letter.lower()
        for place in range(0, len(values) - size + 1, size):
            from_x, from_y = (x, y) if letter.islower() else (0, 0)
            x, y = values[place + size - 2] + from_x, values[place + size - 1] + from_y
            if size == 6:
                x1, y1, x2, y2 = values[place : place + 4]
                steps.append(f"{x1 + from_x} {y1 + from_y} {x2 + from_x} {y2 + from_y} {x} {y} {operator}")
            else:
                steps.append(f"{x} {y} {operator}")
            if operator == "m":  # what follows a move are lines
                start = (x, y)
                operator = "l"
    return "\n".join(steps)
