"""Draws the boxes of a player over the weeks: a small picture for each box, in black and white.

A ring is the highest clean tempo of a week, a full dot one at which the goal was reached; the broken line is the goal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from excerpts.engrave.draw_boxes import text_width
from excerpts.musicxml.format import SOFTWARE
from excerpts.teacher.chart_svg import document, dot, line, number, text
from excerpts.teacher.progress import Point, Progress, Series
from excerpts.teacher.scale import Scale
from excerpts.weekfile.tempo_text import beat_name, number_text
from excerpts.words import Words
from excerpts.workbook.date_words import Dates
from excerpts.workbook.page_names import shortened
from excerpts.workbook.page_texts import PageTexts

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
        series, told = self.series, ""
        if series.retired is not None:
            told = self.words("teacher.progress.retired", day=self.dates.day(series.retired))
        elif series.parked:
            told = self.words("teacher.progress.parked")
        unit = self.words("teacher.progress.runs")
        if series.unit is not None:
            unit = self.words("teacher.progress.beat", beat=beat_name(series.unit, self.words))
        under = " · ".join(part for part in (unit, told) if part)
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
        found = []
        for point in self.series.points:
            value = self.scale.value(point)
            if value is not None:
                found.append((point, self._x(point.week), self.scale.y(value)))
        return found

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
        told = []
        for point in self.series.points:
            value = self.scale.value(point)
            if value is not None:
                told.append(f"{self._short(point.week)} {number_text(value)}{' *' if point.goal else ''}")
        return f"{self.series.title}: {', '.join(told)}"


def _fitting(title: str) -> str:
    """A title cut so that it is no wider than its picture; the music's face is about as wide as the pages' own."""
    most = _TITLE_CHARACTERS
    while text_width(shortened(title, most), _TITLE_SIZE, bold=True) > _TITLE_FILL * WIDTH:
        most -= 1
    return shortened(title, most)


def short_day(day: date, words: Words) -> str:
    """A day in a few letters: "30 Nov"."""
    month = words("workbook.date.months").split()[day.month - 1]
    return words("teacher.progress.day", day=day.day, month=month[:3])
