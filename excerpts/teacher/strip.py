"""The strip of a part: a small column of work over each bar number, shaded by kind; in black and white."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from excerpts.engrave.draw_boxes import text_width
from excerpts.lefthand.work import BarWork, Kind, WorkPassage
from excerpts.musicxml.format import SOFTWARE
from excerpts.teacher.chart import document, line, number, text
from excerpts.teacher.hard_bars import HardBars

WIDTH: Final = 180.0
_HIGH: Final = 24.0
_ROW: Final = 40.0
_TOP: Final = 4.0
_MOST_BARS: Final = 90
"""Bars of a row at most: two millimetres each."""

_WIDEST: Final = 6.0
_BETWEEN: Final = 0.3
"""White at each end of the line under a passage."""

_NUMBER_MM: Final = 9.0
"""Room for a bar number."""

_SHADES: Final[tuple[tuple[str, str, tuple[Kind, ...]], ...]] = (
    ("shift", "#111111", ("shift",)),
    ("crossing", "#6a6a6a", ("crossing",)),
    ("stops", "url(#stripes)", ("stops",)),
    ("height", "#a8a8a8", ("height", "fourth")),
    ("other", "#dddddd", ("rhythm", "note")),
)
"""Word of the legend, how it is filled, and the kinds that it holds, from the bottom of a column up."""

_STRIPES: Final = (
    '<defs><pattern id="stripes" width="0.9" height="0.9" patternUnits="userSpaceOnUse">'
    '<path d="M0 0.45H0.9" stroke="#111" stroke-width="0.35"/></pattern></defs>'
)


@dataclass(frozen=True, slots=True)
class StripRow:
    """One row of the strip.

    Attributes:
        body: Its SVG elements, in millimetres from the top left corner.
        alt: What it shows, in words.
    """

    body: str
    alt: str

    def svg(self) -> str:
        """As a document of its own."""
        return document(_STRIPES + self.body, WIDTH, _ROW)


def strip_rows(hard: HardBars, chosen: Sequence[WorkPassage]) -> list[StripRow]:
    """The whole part, row by row, with its passages numbered under the line."""
    count = len(hard.bars)
    rows = -(-count // _MOST_BARS)
    each = -(-count // rows)
    most = max((bar.load for bar in hard.bars), default=0.0) or 1.0
    slot = min(_WIDEST, WIDTH / each)
    return [
        _row(hard, hard.bars[start : start + each], slot, _HIGH / most, chosen)
        for start in range(0, count, each)
    ]


def strip_svg(hard: HardBars, chosen: Sequence[WorkPassage], title: str) -> bytes:
    """The strip as one picture."""
    rows = strip_rows(hard, chosen)
    parts = [_STRIPES, text(0, 6, title, size=5.2, bold=True), legend(hard, 12.0)]
    for place, row in enumerate(rows):
        parts.append(f'<g transform="translate(0 {number(16 + place * _ROW)})">{row.body}</g>')
    svg = document("".join(parts), WIDTH, 16 + len(rows) * _ROW)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- Made with {SOFTWARE} -->\n{svg}\n'.encode()


def legend(hard: HardBars, y: float) -> str:
    """What the shades mean, on a line."""
    parts, x = [], 0.0
    for word, fill, _ in _SHADES:
        meaning = hard.words(f"hard.legend.{word}")
        parts += [_box(x, y - 2.6, 3.2, 3.2, fill), text(x + 4.4, y, meaning, size=3)]
        x += 8.5 + text_width(meaning, 3)
    return "".join(parts)


def legend_svg(hard: HardBars) -> str:
    """The legend as a picture of its own."""
    return document(_STRIPES + legend(hard, 4.0), WIDTH, 6.0)


def _row(
    hard: HardBars, bars: Sequence[BarWork], slot: float, scale: float, chosen: Sequence[WorkPassage]
) -> StripRow:
    base = _TOP + _HIGH
    parts: list[str] = []
    for place, bar in enumerate(bars):
        y = base
        for _, fill, kinds in _SHADES:
            high = scale * sum(bar.of(kind) for kind in kinds)
            if high > 0.01:
                y -= high
                parts.append(_box(place * slot + 0.12 * slot, y, 0.76 * slot, high, fill))
    parts.append(line(0, base, slot * len(bars), base, width=0.25))
    parts += _numbers(hard, bars, slot, base)
    parts += _passages(bars, slot, base + 6.2, chosen)
    fullest = sorted(bars, key=lambda bar: -bar.load)[:3]
    labels = ", ".join(hard.words("bar.one", label=hard.label(bar.measure)) for bar in fullest if bar.notes)
    return StripRow("".join(parts), f"{hard.words('hard.title')}: {labels}")


def _numbers(hard: HardBars, bars: Sequence[BarWork], slot: float, base: float) -> list[str]:
    """Every fifth bar number, or every tenth and so on, as there is room."""
    step = next(step for step in (1, 5, 10, 20, 50) if step * slot >= _NUMBER_MM or step == 50)
    parts = []
    for place, bar in enumerate(bars):
        label = hard.label(bar.measure)
        if place == 0 or (label.isdecimal() and int(label) % step == 0 and place * slot >= _NUMBER_MM):
            x = (place + 0.5) * slot
            parts += [
                line(x, base, x, base + 0.9, width=0.25),
                text(max(x, text_width(label, 3) / 2), base + 4.2, label, size=3, anchor="middle"),
            ]
    return parts


def _passages(bars: Sequence[BarWork], slot: float, y: float, chosen: Sequence[WorkPassage]) -> list[str]:
    first, last = bars[0].measure, bars[-1].measure
    parts = []
    for name, passage in enumerate(chosen, start=1):
        inside = [bar.measure - first for bar in passage.bars if first <= bar.measure <= last]
        if inside:
            start, end = inside[0] * slot, (inside[-1] + 1) * slot
            parts += [
                line(start + _BETWEEN, y, end - _BETWEEN, y, width=0.7),
                text((start + end) / 2, y + 3.6, str(name), size=3, bold=True, anchor="middle"),
            ]
    return parts


def _box(x: float, y: float, width: float, height: float, fill: str) -> str:
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(width)}" height="{number(height)}" '
        f'fill="{escape(fill)}"/>'
    )
