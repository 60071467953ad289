"""Where a tempo or a count stands in a chart.

Tempos stand on a scale of equal steps per cent, as the metronome's numbers do: from 60 to 66 is as far as from 120
to 132.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import log2
from typing import Final

from excerpts.teacher.progress import Point, Series
from excerpts.variants.tempo_steps import METRONOME_NUMBERS

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
        found: list[Fraction] = [] if self.goal is None else [self.goal]
        for value in inside[::step]:
            if all(abs(self.y(value) - self.y(other)) >= _NEAREST for other in found):
                found.append(value)
        return found
