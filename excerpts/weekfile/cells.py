"""Cells of a table as spreadsheets save them: how its lines are divided, its dates, and bars that were taken for dates.

The layouts of dates are common practice, no source; days as numbers: ECMA-376-1, 18.17.4.1, the 1900 date base.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Final

from excerpts.words import Words, choices

_TIME: Final = r"(?:[T ]+\d{1,2}:\d\d(?::\d\d(?:\.\d+)?)?(?: ?[AaPp]\.?[Mm]\.?)?Z?)?"
_FIGURES: Final = re.compile(rf"(\d{{1,4}})([./-]) ?(\d{{1,2}})\2 ?(\d{{2,4}}){_TIME}")
_SERIAL: Final = re.compile(r"(\d{5})(?:[.,]\d+)?")
_FIRST_DAY: Final = date(1899, 12, 30)
_OLDEST: Final = 1990
"""A spreadsheet's number for a day before this year is taken for something else."""

_CENTURY: Final = 30
"""Two figures from here on are a year of the 20th century, as spreadsheets read them; common practice."""


def as_utf8(data: bytes) -> bytes:
    """A text that a spreadsheet saved as UTF-16 ("Unicode text") in UTF-8; any other as it is."""
    return data.decode("utf-16", "replace").encode() if utf_16(data) else data


def utf_16(data: bytes) -> str:
    """The name of the UTF-16 that a text is saved in, by its first bytes; empty for another encoding."""
    marks = {codecs.BOM_UTF16_LE: "utf-16-le", codecs.BOM_UTF16_BE: "utf-16-be"}
    return marks.get(data[:2], "")


def told_delimiter(line: str) -> str:
    """What the first line of a file says that stands between the cells ("sep=;"); empty where it says nothing."""
    match = re.fullmatch(r'\ufeff?"?sep=(.)"?\s*', line, re.IGNORECASE)
    return match[1] if match else ""


@dataclass(frozen=True, slots=True)
class Dates:
    """How the dates of one file are written.

    Attributes:
        day_first: Whether 3/4 is 3 April; None where no date of the file tells.
    """

    day_first: bool | None = None

    @classmethod
    def of(cls, cells: Iterable[str]) -> Dates:
        """The order that all dates of a file can have; a date with points has its day first in any file."""
        pairs = [(int(m[1]), int(m[3])) for cell in cells if (m := _figures(cell)) and m[2] != "."]
        firsts, seconds = (all(pair[side] <= 12 for pair in pairs) for side in (0, 1))
        return cls(None if firsts == seconds else seconds)

    def read(self, cell: str) -> date:
        """The day that a cell means: 2026-11-30, 30.11.2026, 30/11/26, 30 Nov 2026, 46356, with or without a time.

        Raises:
            ValueError: It is none, or could be two; the message quotes it.
        """
        meant = {day for day in self._meant(cell.strip()) if 1900 <= day.year <= 2999}
        if len(meant) == 1:
            return meant.pop()
        if meant:
            days = " or ".join(day.isoformat() for day in sorted(meant))
            raise ValueError(
                f'"{cell.strip()}" can be {days}: no other date of the file tells. Write {days}.'
            )
        what = "a real date" if _figures(cell) or _iso(cell) else "a date"
        raise ValueError(f'"{cell.strip()[:40]}" is not {what}. Write it as year-month-day: 2026-11-30.')

    def _meant(self, cell: str) -> set[date]:
        if match := _iso(cell):
            return _real([(int(match[1]), int(match[3]), int(match[4]))])
        if match := _figures(cell):
            one, other, year = int(match[1]), int(match[3]), _year(match[4])
            first = True if match[2] == "." else self.day_first
            orders = [(year, other, one)] * (first is not False) + [(year, one, other)] * (first is not True)
            return _real(orders)
        if match := _SERIAL.fullmatch(cell):
            return {day for day in [_FIRST_DAY + timedelta(int(match[1]))] if _OLDEST <= day.year < 2100}
        return _real([named] if (named := _named(cell)) else [])


def taken_for_dates(cell: str) -> tuple[str, ...]:
    """The bars that a spreadsheet may have made a date of: "3-4" is "03. Apr", "Apr-03" or 46115, "10-40" "Oct-40".

    Returns:
        Each range that it can have been, the lower bar first; nothing where the cell is no such date.
    """
    text = cell.strip()
    pairs: list[tuple[int, int]] = []
    if match := re.fullmatch(r"(\d{1,2})\.?[ -]?([^\W\d_]{3,})\.?|([^\W\d_]{3,})\.?[ -](\d{1,2})", text):
        month = _month(match[2] or match[3])
        pairs = [(month, int(match[1] or match[4]))] if month else []
    elif match := _SERIAL.fullmatch(text):
        pairs = _typed(_FIRST_DAY + timedelta(int(match[1])))
    elif _iso(text) or _figures(text) or _named(text):
        days = Dates()._meant(text)
        pairs = [pair for day in sorted(days) for pair in _typed(day)]
    ranges = [(min(pair), max(pair)) for pair in pairs if min(pair) > 0]
    return tuple(dict.fromkeys(f"{low}-{high}" if low < high else f"{low}" for low, high in ranges))


def _typed(day: date) -> list[tuple[int, int]]:
    """What a spreadsheet makes this day of: day and month in the year of typing, or month and year of two figures."""
    as_year = [(day.month, day.year % 100)] if day.day == 1 else []
    return ([(day.month, day.day)] if day.year >= _OLDEST else []) + as_year


def _iso(cell: str) -> re.Match[str] | None:
    return re.fullmatch(rf"(\d{{4}})([./-])(\d{{1,2}})\2(\d{{1,2}}){_TIME}", cell.strip())


def _figures(cell: str) -> re.Match[str] | None:
    match = _FIGURES.fullmatch(cell.strip())
    return match if match and len(match[1]) <= 2 else None


def _year(text: str) -> int:
    year = int(text)
    return year if len(text) > 2 else year + (1900 if year >= _CENTURY else 2000)


def _real(orders: Iterable[tuple[int, int, int]]) -> set[date]:
    days = set()
    for year, month, day in orders:
        try:
            days.add(date(year, month, day))
        except ValueError:
            continue
    return days


def _named(cell: str) -> tuple[int, int, int] | None:
    """Year, month and day of "30. November 2026", "30-Nov-26", "Mon, Nov 30, 2026"."""
    months = [month for word in re.findall(r"[^\W\d_]{3,}", cell) if (month := _month(word))]
    numbers = re.findall(r"\d+", cell)
    if len(months) != 1 or len(numbers) != 2:
        return None
    day, year = numbers if len(numbers[0]) <= 2 else reversed(numbers)
    return (_year(year), months[0], int(day)) if len(year) in (2, 4) else None


def _month(word: str) -> int | None:
    """The month that a word of three letters or more begins, in any language that has a words file."""
    numbers = {number for name, number in _months() if name.startswith(word.casefold())}
    return numbers.pop() if len(numbers) == 1 else None


@lru_cache(maxsize=1)
def _months() -> tuple[tuple[str, int], ...]:
    names = [Words(choice)("workbook.date.months").split() for choice in choices()]
    by_name = {name.casefold(): number for months in names for number, name in enumerate(months, start=1)}
    return (*by_name.items(), ("mrz", 3))  # how German spreadsheets shorten März
