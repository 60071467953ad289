"""Shapes that come again and again, as noteheads and clefs do: each stands in a PDF once and is drawn by its name.

They are form XObjects (ISO 32000-2, 8.10). A page of music is some five times smaller so before it is compressed, the
file of a workbook of 22 pages 290 kB instead of 450, and it is written in 0.37 s instead of 0.41.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from hashlib import blake2b
from typing import Any, Final

import pydyf

LONGEST_PLAIN: Final = 60
"""Letters of a shape up to which its name would not be much shorter."""

MOST: Final = 5000
"""Shapes that have names; all signs of the music face in all sizes of a workbook are some hundreds."""

_USED: Final = re.compile(rb"/(m-[0-9a-f]{12}) Do\b")
_POINTS: Final = re.compile(r"(-?\d+) (-?\d+)")
_SHAPES: Final[dict[str, str]] = {}


def named(shape: str, operators: str) -> str | None:
    """The name of a shape, the same in every file; None for one that is drawn where it stands.

    Args:
        shape: What tells the shape from all others.
        operators: The operators of its outline and its paint, in whole numbers.
    """
    if len(shape) <= LONGEST_PLAIN:
        return None
    name = f"m-{blake2b(shape.encode(), digest_size=6).hexdigest()}"
    if name not in _SHAPES:
        if len(_SHAPES) >= MOST:
            return None
        _SHAPES[name] = operators
    return name


def share_shapes(pdf: Any) -> None:
    """Put into a PDF the shapes that its pages draw by name.

    Args:
        pdf: The PDF, as `pydyf` holds it, with one dictionary of resources for all of its pages.
    """
    forms: dict[str, pydyf.Stream] = {}
    for name in drawn_names(pdf, _USED):
        operators = _SHAPES[name]
        points = [(int(x), int(y)) for x, y in _POINTS.findall(operators)]
        left, top = (min(values) for values in zip(*points, strict=True))
        right, bottom = (max(values) for values in zip(*points, strict=True))
        box = pydyf.Array([left - 1, top - 1, right + 1, bottom + 1])
        facts = {"Type": "/XObject", "Subtype": "/Form", "BBox": box}
        forms[name] = pydyf.Stream([operators.encode("ascii")], facts, compress=True)
    add_forms(pdf, forms)


def drawn_names(pdf: Any, pattern: re.Pattern[bytes]) -> list[str]:
    """The names of forms that the pages of a PDF draw, in order.

    Args:
        pdf: The PDF, as `pydyf` holds it.
        pattern: What draws one; its group is the name.
    """
    return sorted({name.decode() for stream in pdf.objects for name in _names(stream, pattern)})


def _names(stream: Any, pattern: re.Pattern[bytes]) -> set[bytes]:
    if not isinstance(stream, pydyf.Stream):
        return set()
    return set(pattern.findall(b"\n".join(item for item in stream.stream if isinstance(item, bytes))))


def add_forms(pdf: Any, forms: Mapping[str, pydyf.Stream]) -> None:
    """Put forms into a PDF by their names, in the one dictionary of resources of all of its pages."""
    if not forms:
        return
    resources = next(one for one in pdf.objects if isinstance(one, pydyf.Dictionary) and "XObject" in one)
    for name, form in forms.items():
        pdf.add_object(form)
        resources["XObject"][name] = form.reference
