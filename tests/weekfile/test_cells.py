"""Cells as spreadsheets save them: dates of every layout, never guessed, and bars that were made dates of."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.weekfile.cells import Dates, taken_for_dates
from excerpts.words import Words

days = st.dates(date(1990, 1, 1), date(2099, 12, 31))
LAYOUTS = ("%Y-%m-%d", "%Y-%m-%dT00:00:00", "%Y/%m/%d", "%d.%m.%Y", "%d. %B %Y", "%d %b %Y", "%B %d, %Y")


@given(days, st.sampled_from(LAYOUTS))
def test_a_layout_that_leaves_no_doubt_is_read_in_any_file(day: date, layout: str) -> None:
    assert all(Dates(first).read(day.strftime(layout)) == day for first in (True, False, None))


@given(days)
def test_a_spreadsheets_number_of_a_day(day: date) -> None:
    """ECMA-376-1, 18.17.4.1: 1 January 2000 is 36526."""
    number = 36526 + (day - date(2000, 1, 1)).days
    assert Dates().read(str(number)) == Dates().read(f"{number}.75") == day


@given(days, st.sampled_from(["uk", "de"]))
def test_months_in_every_language(day: date, choice: str) -> None:
    month = Words(choice)("workbook.date.months").split()[day.month - 1]
    assert (
        Dates().read(f"{day.day}. {month} {day.year}")
        == Dates().read(f"{day.day}-{month[:3]}-{day.year}")
        == day
    )


@given(st.lists(days, min_size=1, max_size=8), st.booleans())
def test_a_file_of_dates_is_read_in_one_order_or_the_doubtful_ones_are_told(
    found: list[date], day_first: bool
) -> None:
    """No date is ever read as another day: it is read right, or refused."""
    cells = [day.strftime("%d/%m/%Y" if day_first else "%m/%d/%Y") for day in found]
    dates = Dates.of(cells)
    told = any(day.day > 12 for day in found)
    assert dates.day_first == (day_first if told else None)
    for day, cell in zip(found, cells, strict=True):
        if told or day.day == day.month:
            assert dates.read(cell) == day
        else:
            with pytest.raises(ValueError, match=f'"{cell}" can be '):
                dates.read(cell)


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("31.11.2026", '"31.11.2026" is not a real date'),
        ("2026-02-30", '"2026-02-30" is not a real date'),
        ("30.11.", '"30.11." is not a date'),
        ("tomorrow", '"tomorrow" is not a date'),
        ("12345", '"12345" is not a date'),
    ],
)
def test_what_is_no_date_is_told_with_the_cell(cell: str, told: str) -> None:
    with pytest.raises(ValueError, match="(?s).") as caught:
        Dates().read(cell)
    assert told in str(caught.value)


@given(
    st.integers(1, 12),
    st.integers(1, 12),
    st.sampled_from(["{d:02}. {m}", "{m}-{d:02}", "{d}-{m}", "{m} {d}"]),
)
def test_bars_that_became_a_day_of_a_month_are_read_rising(month: int, other: int, layout: str) -> None:
    name = date(2026, month, 1).strftime("%b")
    low, high = sorted((month, other))
    wanted = f"{low}-{high}" if low < high else str(low)
    assert taken_for_dates(layout.format(d=other, m=name)) == (wanted,)


@given(st.integers(1, 12), st.integers(2, 28), st.integers(2000, 2029))
def test_bars_that_became_a_whole_date(month: int, day: int, year: int) -> None:
    typed = date(year, month, day)
    low, high = sorted((month, day))
    wanted = (f"{low}-{high}" if low < high else str(low),)
    number = str((typed - date(1899, 12, 30)).days)
    for cell in (typed.isoformat(), number, typed.strftime("%d.%m.%Y")):
        assert taken_for_dates(cell) == wanted
    assert wanted[0] in taken_for_dates(typed.strftime("%d/%m/%y"))


@given(st.integers(1, 12), st.integers(30, 99))
def test_bars_that_became_a_month_of_a_year(month: int, last: int) -> None:
    first = date(1900 + last, month, 1)
    cells = (first.strftime("%b-%y"), first.isoformat(), str((first - date(1899, 12, 30)) // timedelta(1)))
    for cell in cells:
        assert f"{month}-{last}" in taken_for_dates(cell)


@pytest.mark.parametrize(
    "cell", ["12", "12-16", "C-D", "12:3-16:1", "@1-@4", "mark:12", "12a-14b", "Coda", "400"]
)
def test_bars_stay_bars(cell: str) -> None:
    assert taken_for_dates(cell) == ()
