"""Rows of the log: what is written is read again, for any text, and no cell is a formula to a spreadsheet."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Tempo
from excerpts.log.log_cells import escaped, plain, unescaped
from excerpts.log.row import COLUMNS, Kind, Layout, LogRow, read_row, row_line
from excerpts.words import Words

MONDAY = date(2026, 11, 30)

texts = st.text(max_size=60).map(plain)
units = st.sampled_from(
    [Fraction(n) for n in ("8", "4", "2", "1", "1/2", "1/4", "1/8", "3", "3/2", "3/4", "7/4")]
)
tempos = st.builds(Tempo, st.integers(1000, 60000).map(lambda hundredths: Fraction(hundredths, 100)), units)


@st.composite
def rows(draw: st.DrawFn) -> LogRow:
    week = MONDAY + timedelta(days=draw(st.integers(-3000, 3000)))
    day = draw(st.none() | st.integers(0, 130).map(lambda n: week + timedelta(days=n)))
    kinds: list[Kind] = ["box", "run-through", "day", "heard"]
    kind = draw(st.sampled_from(kinds))
    box = draw(st.from_regex(r"\A\w[\w.-]{0,20}\Z") if kind != "day" else st.just(""))
    return LogRow(
        week, day, kind, plain(box), draw(st.none() | tempos), draw(st.none() | st.integers(0, 999)),
        draw(texts), draw(texts),
    )  # fmt: skip


@settings(max_examples=60)
@given(rows(), st.sampled_from(["uk", "us"]), st.sampled_from([",", ";", "\t"]), st.permutations(COLUMNS))
def test_every_row_is_read_as_it_was_written(
    row: LogRow, column: str, delimiter: str, columns: list[str]
) -> None:
    layout = Layout(delimiter, tuple(columns))
    line = row_line(row, Words("us" if column == "us" else "uk"), layout)
    assert line.endswith("\n")
    assert line.count("\n") == 1
    assert "\r" not in line
    assert read_row(line[:-1], layout) == row


@settings(max_examples=40)
@given(rows())
def test_the_line_is_csv_for_other_programs_and_has_no_formula(row: LogRow) -> None:
    """Python's csv module reads it; no cell starts with a sign that a spreadsheet takes for a formula (OWASP)."""
    (cells,) = csv.reader(io.StringIO(row_line(row, Words())))
    assert len(cells) == len(COLUMNS)
    assert not any(cell[:1] in {"=", "+", "-", "@"} for cell in cells)


@given(st.text(alphabet="'=+-@ a", max_size=8))
def test_escaping_is_undone(text: str) -> None:
    assert unescaped(escaped(text)) == text


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("2026-11-30,2026-12-01,box,run,60", "It has 5 columns"),
        ("2026-11-30,,box,run,60,crotchet,3,,,x", "It has 10 columns"),
        ("2026-11-30,,bax,run,,,,,", '"bax" is not a kind'),
        ("next week,,box,run,,,,,", '"next week" is not a date. Write it as year-month-day'),
        ("12/1/2026,,box,run,,,,,", "can be 2026-01-12 or 2026-12-01"),
        ("2026-11-31,,box,run,,,,,", "not a real date"),
        (",2026-12-01,box,run,,,,,", "The week is missing"),
        ("2026-11-30,,box,,60,crotchet,3,,", "which box"),
        ("2026-11-30,,run-through,,,,,,", "which piece"),
        ("2026-11-30,,box,run,60,,3,,", "has no beat"),
        ("2026-11-30,,box,run,,crotchet,3,,", "has no number"),
        ("2026-11-30,,box,run,60,crotchett,3,,", 'Did you mean "crotchet"?'),
        ("2026-11-30,,box,run,6000,crotchet,3,,", "beats a minute"),
        ("2026-11-30,,box,run,60,crotchet,-3,,", "clean runs"),
        ("2026-11-30,,box,run,60,crotchet,³,,", "clean runs"),
        ("2026-11-30,2025-11-28,box,run,60,crotchet,3,,", "more than a year from the week"),
        ('2026-11-30,,box,run,60,crotchet,3,,"left', "quotation mark"),
        (",,player,,,,,,", "no name"),
    ],
)
def test_what_is_no_row_is_told(line: str, told: str) -> None:
    with pytest.raises(ValueError, match="(?s).") as caught:
        read_row(line)
    assert told in str(caught.value)


def test_what_a_spreadsheet_makes_of_a_row_is_read() -> None:
    """Cells in quotes, empty columns at the end, formula signs that a person typed."""
    line = '"2026-11-30","2026-12-01","box","run","60","quarter note","3","14","-flat",,,'
    row = LogRow(MONDAY, date(2026, 12, 1), "box", "run", Tempo(Fraction(60)), 3, "14", "-flat")
    assert read_row(line) == row
    bars = line.replace('"14"', '"03. Apr"')
    assert read_row(bars).bars == "3-4"


def test_a_text_that_is_too_long() -> None:
    with pytest.raises(ValueError, match="longer than 2000"):
        row_line(LogRow(MONDAY, note="x" * 2001), Words())
