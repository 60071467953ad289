"""The few marks that a chart is made of, as SVG in millimetres."""

from __future__ import annotations

from html import escape
from typing import Final

FACE: Final = "Text, 'Source Sans Pro', 'Source Sans 3', 'Noto Sans', sans-serif"
"""The pages' own face; on other machines the nearest there is."""


def number(value: float) -> str:
    """A measure, to a hundredth of a millimetre."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def line(
    x1: float, y1: float, x2: float, y2: float, *, width: float, colour: str = "#111", dash: str = ""
) -> str:
    """A straight line."""
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<path d="M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}" fill="none" stroke="{colour}" '
        f'stroke-width="{number(width)}"{dashes}/>'
    )


def dot(x: float, y: float, radius: float, *, full: bool) -> str:
    """A full dot, or a ring."""
    fill = "#111" if full else "#fff"
    return (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="{fill}" stroke="#111" '
        'stroke-width="0.4"/>'
    )


def text(
    x: float, y: float, words: str, *, size: float = 3.4, bold: bool = False, anchor: str = "start"
) -> str:
    """A line of text on its base line."""
    weight = ' font-weight="600"' if bold else ""
    where = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(size)}" fill="#111"{weight}{where}>'
        f"{escape(words, quote=False)}</text>"
    )


def document(body: str, width: float, height: float) -> str:
    """Marks as a document of its own."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(width)}mm" height="{number(height)}mm" '
        f'viewBox="0 0 {number(width)} {number(height)}" font-family="{FACE}">{body}</svg>'
    )
