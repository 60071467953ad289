"""The boxes of a player over the weeks: drawn, a small picture for each box in black and white, or as a table.

A ring is the highest clean tempo of a week, a full dot one at which the goal was reached; the broken line is the goal.
Tempos stand on a scale of equal steps per cent, as the metronome's numbers do: from 60 to 66 is as far as from 120
to 132.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from html import escape
from math import log2
from typing import Final

from excerpts.engrave.draw_boxes import text_width
from excerpts.musicxml.format import SOFTWARE
from excerpts.teacher.tempos_reached import Point, Progress, Series
from excerpts.variants.tempo_steps import METRONOME_NUMBERS
from excerpts.weekfile.tempo_text import beat_name, number_text
from excerpts.words import Words
from excerpts.workbook.page_names import shortened
from excerpts.workbook.page_texts import Dates, PageTexts, short_day

_NEAREST: Final = 3.6
"""Millimetres between two numbers of a scale."""

_MOST_LABELS: Final = 5


class Scale:
    """The scale of one box.

    Args:
        series: The box.
        top: Height of its highest value, in millimetres from the top.
        bottom: Height of its lowest.
    """

    def __init__(self, series: Series, top: float, bottom: float) -> None:
        self.top, self.bottom = top, bottom
        self.tempo = series.unit is not None
        self.goal: Fraction | None = series.target
        if not self.tempo:
            self.goal = Fraction(series.wanted) if series.wanted else None
        values = [value for point in series.points if (value := self.value(point)) is not None]
        values += [self.goal] if self.goal is not None else []
        self.least, self.most = self._ends(values)

    def value(self, point: Point) -> Fraction | None:
        """What is drawn of a week: the tempo, or the runs in a row; what was heard clean stands at the goal."""
        value = point.tempo if self.tempo else None if point.runs is None else Fraction(point.runs)
        return self.goal if value is None and point.goal else value

    def _ends(self, values: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
        if not self.tempo:
            return Fraction(0), max([*values, Fraction(3)])
        least, most = min(values, default=Fraction(60)), max(values, default=Fraction(60))
        return least * Fraction(9, 10), most * Fraction(21, 20)

    def y(self, value: Fraction) -> float:
        """Height of a value, in millimetres from the top."""
        high = self.bottom - self.top
        if not self.tempo:
            return self.bottom - high * float(value / self.most)
        return self.bottom - high * log2(float(value / self.least)) / log2(float(self.most / self.least))

    def labels(self) -> list[Fraction]:
        """Numbers at the side: the goal, then of the metronome's numbers those that there is room for."""
        numbers = METRONOME_NUMBERS if self.tempo else range(int(self.most) + 1)
        inside = [Fraction(number) for number in numbers if self.least <= number <= self.most]
        step = max(len(inside) // _MOST_LABELS, 1)
        marks: list[Fraction] = [] if self.goal is None else [self.goal]
        for value in inside[::step]:
            if all(abs(self.y(value) - self.y(other)) >= _NEAREST for other in marks):
                marks.append(value)
        return marks


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


WIDTH: Final = 86.0
HEIGHT: Final = 46.0
_GAP: Final = 8.0
_COLUMNS: Final = 2
_LEFT: Final = 9.0
_RIGHT: Final = 3.0
_TOP: Final = 13.0
_BASE: Final = HEIGHT - 6.5
_DOT: Final = 1.05
_TITLE_CHARACTERS: Final = 50
_TITLE_SIZE: Final = 3.7
_TITLE_FILL: Final = 0.92
_DATE_MM: Final = 13.0
"""Room for a date under the line."""


@dataclass(frozen=True, slots=True)
class Chart:
    """The picture of one box.

    Attributes:
        body: The SVG elements, in millimetres from the top left corner.
        alt: What it shows, in words.
    """

    body: str
    alt: str

    def svg(self) -> str:
        """As a document of its own."""
        return document(self.body, WIDTH, HEIGHT)


def charts(progress: Progress, words: Words) -> list[Chart]:
    """A picture for each box of which something was written down."""
    return [_Panel(progress.weeks, series, words).chart() for series in progress.series if series.points]


def progress_svg(progress: Progress, words: Words, title: str) -> bytes:
    """All pictures in one SVG file, two side by side."""
    drawn = charts(progress, words)
    top = 12.0
    parts = [text(0, 6, title, size=5.2, bold=True)]
    for place, chart in enumerate(drawn):
        x = (place % _COLUMNS) * (WIDTH + _GAP)
        y = top + (place // _COLUMNS) * (HEIGHT + _GAP)
        parts.append(f'<g transform="translate({number(x)} {number(y)})">{chart.body}</g>')
    if not drawn:
        parts.append(text(0, top + 4, words("teacher.progress.nothing")))
    rows = max((len(drawn) + 1) // _COLUMNS, 1)
    height = top + rows * (HEIGHT + _GAP)
    parts.append(text(0, height, words("teacher.progress.legend"), size=3))
    svg = document("".join(parts), _COLUMNS * WIDTH + _GAP, height + 3)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<!-- Made with {SOFTWARE} -->\n{svg}\n'.encode()


class _Panel:
    def __init__(self, weeks: Sequence[date], series: Series, words: Words) -> None:
        self.weeks = weeks
        self.series = series
        self.words = words
        self.dates = Dates(PageTexts(words))
        self.scale = Scale(series, _TOP, _BASE - 2)

    def chart(self) -> Chart:
        parts = [self._head(), self._grid(), self._goal(), *self._lines(), *self._dots(), self._days()]
        return Chart("".join(parts), self._alt())

    def _x(self, week: date) -> float:
        first, last = self.weeks[0], self.weeks[-1]
        wide = WIDTH - _LEFT - _RIGHT - 4
        days = (last - first).days
        return _LEFT + 2 + (wide * (week - first).days / days if days else wide / 2)

    def _head(self) -> str:
        series, state = self.series, ""
        if series.retired is not None:
            state = self.words("teacher.progress.retired", day=self.dates.day(series.retired))
        elif series.parked:
            state = self.words("teacher.progress.parked")
        unit = self.words("teacher.progress.runs")
        if series.unit is not None:
            unit = self.words("teacher.progress.beat", beat=beat_name(series.unit, self.words))
        under = " · ".join(part for part in (unit, state) if part)
        return text(0, 3.6, _fitting(series.title), size=_TITLE_SIZE, bold=True) + text(0, 8, under, size=3)

    def _grid(self) -> str:
        parts = []
        for value in self.scale.labels():
            y = self.scale.y(value)
            parts.append(line(_LEFT, y, WIDTH - _RIGHT, y, width=0.12, colour="#9a9a9a"))
            parts.append(text(_LEFT - 1.2, y + 1, number_text(value), size=3, anchor="end"))
        parts.append(line(_LEFT, _BASE, WIDTH - _RIGHT, _BASE, width=0.25))
        return "".join(parts)

    def _goal(self) -> str:
        if self.scale.goal is None:
            return ""
        y = self.scale.y(self.scale.goal)
        return line(_LEFT, y, WIDTH - _RIGHT, y, width=0.3, dash="1.6 1.1")

    def _drawn(self) -> list[tuple[Point, float, float]]:
        """The weeks that say something, with their places."""
        drawn = []
        for point in self.series.points:
            value = self.scale.value(point)
            if value is not None:
                drawn.append((point, self._x(point.week), self.scale.y(value)))
        return drawn

    def _lines(self) -> list[str]:
        """From week to week; broken where a week between says nothing."""
        drawn, lines = self._drawn(), []
        for (one, x1, y1), (other, x2, y2) in zip(drawn, drawn[1:], strict=False):
            between = any(one.week < week < other.week for week in self.weeks)
            width, dash = (0.25, "0.5 0.9") if between else (0.45, "")
            lines.append(line(x1, y1, x2, y2, width=width, dash=dash))
        return lines

    def _dots(self) -> list[str]:
        return [dot(x, y, _DOT, full=point.goal) for point, x, y in self._drawn()]

    def _days(self) -> str:
        """Dates under the line, as many as there is room for, the first and the last among them."""
        parts: list[str] = []
        taken: list[float] = []
        for week in (self.weeks[0], self.weeks[-1], *self.weeks[1:-1]):
            x = self._x(week)
            parts.append(line(x, _BASE, x, _BASE + 0.9, width=0.25))
            if all(abs(x - other) > _DATE_MM for other in taken):
                taken.append(x)
                parts.append(text(x, HEIGHT - 1.6, self._short(week), size=3, anchor="middle"))
        return "".join(parts)

    def _short(self, day: date) -> str:
        return short_day(day, self.words)

    def _alt(self) -> str:
        values = []
        for point in self.series.points:
            value = self.scale.value(point)
            if value is not None:
                values.append(f"{self._short(point.week)} {number_text(value)}{' *' if point.goal else ''}")
        return f"{self.series.title}: {', '.join(values)}"


def _fitting(title: str) -> str:
    """A title cut so that it is no wider than its picture; the music's face is about as wide as the pages' own."""
    most = _TITLE_CHARACTERS
    while text_width(shortened(title, most), _TITLE_SIZE, bold=True) > _TITLE_FILL * WIDTH:
        most -= 1
    return shortened(title, most)


LAST_WEEKS = 12
"""Weeks that a table has room for: a term."""

_TITLE = 44


def progress_lines(progress: Progress, words: Words) -> Iterator[str]:
    """A line for each box: its goal, then the tempo reached in each of the last weeks; a star is the goal."""
    weeks = progress.weeks[-LAST_WEEKS:]
    head = [words("teacher.progress.box"), words("teacher.progress.goal")]
    rows = [[*head, *(short_day(week, words) for week in weeks)]]
    for series in progress.series:
        points = {point.week: point for point in series.points}
        tempi = [_cell(points.get(week), series) for week in weeks]
        rows.append([shortened(series.title, _TITLE), _goal(series, words), *tempi])
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for row in rows:
        cells = [
            cell.ljust(width) if place < 2 else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield "  ".join(cells).rstrip()
    yield words("teacher.progress.stars")


def _goal(series: Series, words: Words) -> str:
    if series.target is not None and series.unit is not None:
        return f"{beat_name(series.unit, words)} = {number_text(series.target)}"
    return words("teacher.progress.times", n=series.wanted) if series.wanted else ""


def _cell(point: Point | None, series: Series) -> str:
    if point is None:
        return "–"
    star = "*" if point.goal else ""
    if series.unit is not None:
        return f"{number_text(point.tempo)}{star}" if point.tempo is not None else star or "·"
    return f"{point.runs}×{star}" if point.runs is not None else star or "·"
