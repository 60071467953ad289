"""What a teacher types off a paper: days, tempos and counts in any of the ways that they are written."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from excerpts.excerpt import Tempo
from excerpts.log.answers import Entry, read_broke, read_day, read_days, read_entries
from excerpts.weekfile.model import Days

WEEK = Days(start=date(2026, 11, 30), minutes={"every": 30})
FORTNIGHT = Days(start=date(2026, 11, 30), until=date(2026, 12, 14), minutes={"every": 30})
MON, TUE = date(2026, 11, 30), date(2026, 12, 1)
CROTCHET = Fraction(1)


def crotchet(number: str) -> Tempo:
    return Tempo(Fraction(number))


@pytest.mark.parametrize(
    ("answer", "entries"),
    [
        ("mon 54 3", [Entry(MON, crotchet("54"), 3)]),
        ("Monday: 54 3; tue 58 10", [Entry(MON, crotchet("54"), 3), Entry(TUE, crotchet("58"), 10)]),
        ("54, 58.5", [Entry(None, crotchet("54")), Entry(None, crotchet("58.5"))]),
        ("mon", [Entry(MON)]),
        ("tue x5", [Entry(TUE, None, 5)]),
        ("tue 60 x5", [Entry(TUE, crotchet("60"), 5)]),
        ("tue 60 5x", [Entry(TUE, crotchet("60"), 5)]),
        ("x 5", [Entry(None, None, 5)]),
        ("quaver = 76 4", [Entry(None, Tempo(Fraction(76), Fraction(1, 2)), 4)]),
        ("tue quaver=76", [Entry(TUE, Tempo(Fraction(76), Fraction(1, 2)))]),
        ("2026-12-01 60 5", [Entry(TUE, crotchet("60"), 5)]),
        ("1. 60 5", [Entry(TUE, crotchet("60"), 5)]),
        ("30. 60", [Entry(MON, crotchet("60"))]),
        (" , ;", []),
    ],
)
def test_the_record_of_a_box(answer: str, entries: list[Entry]) -> None:
    assert read_entries(answer, WEEK, CROTCHET) == tuple(entries)


@pytest.mark.parametrize(
    ("answer", "entries"),
    [("mon 3, tue 10", [Entry(MON, None, 3), Entry(TUE, None, 10)]), ("7", [Entry(None, None, 7)])],
)
def test_the_record_of_a_box_with_a_goal_in_words(answer: str, entries: list[Entry]) -> None:
    assert read_entries(answer, WEEK, None) == tuple(entries)


@pytest.mark.parametrize(
    ("answer", "unit", "told"),
    [
        ("moon 54", CROTCHET, '"moon" is not a day'),
        ("t 54", CROTCHET, '"t" is not a day'),
        ("54 3 7", CROTCHET, "not a day, a tempo and a number"),
        ("54 3 x7", CROTCHET, "not a day, a tempo and a number"),
        ("mon fast", CROTCHET, "not a number of beats"),
        ("mon 5", CROTCHET, "not between"),
        ("mon 54 ten", CROTCHET, "not a number of clean runs"),
        ("mon 54 3", None, "not a day and a number of runs"),
        ("2026-12-24 60 2027-12-24", CROTCHET, "clean runs"),
        ("2026-10-29 60", CROTCHET, "not in this week"),
        ("2026-13-01 60", CROTCHET, "not a real date"),
        ("8. 60", CROTCHET, "not in this week"),
        ("crotchett = 60", CROTCHET, 'Did you mean "crotchet"?'),
    ],
)
def test_what_cannot_be_read_is_told(answer: str, unit: Fraction | None, told: str) -> None:
    with pytest.raises(ValueError, match="(?s).") as caught:
        read_entries(answer, WEEK, unit)
    assert told in str(caught.value)


def test_a_weekday_that_comes_twice_needs_its_date() -> None:
    with pytest.raises(ValueError, match=r'2 days that "tue" can mean: write 1\. or 8\.'):
        read_day("tue", FORTNIGHT)
    assert read_day("8.", FORTNIGHT) == date(2026, 12, 8)
    assert read_days("tues, Wed; 2026-12-04", WEEK) == (TUE, date(2026, 12, 2), date(2026, 12, 4))
    assert read_days("tue wed", WEEK) == (TUE, date(2026, 12, 2))


@pytest.mark.parametrize(
    ("answer", "bars", "note"),
    [
        ("14", "14", ""),
        ("bar 14: left hand late", "14", "left hand late"),
        ("bars 14 – 15, left hand late", "14-15", "left hand late"),
        ("measure 14 left hand late", "14", "left hand late"),
        ("12-16; hand tired", "12-16", "hand tired"),
        ("T. 14: linke Hand zu spät", "14", "linke Hand zu spät"),
        ("Takte 14-15; müde", "14-15", "müde"),
        ("C+2", "", "C+2"),
        ("left hand late", "", "left hand late"),
        ("4 fingers were flat", "", "4 fingers were flat"),
        ("clean", "", "clean"),
    ],
)
def test_where_it_broke_down_and_what_was_noticed(answer: str, bars: str, note: str) -> None:
    assert read_broke(answer) == (bars, note)
