"""Addresses written for spans: what is written names the span again (default tier; laws by hypothesis).

The reader of addresses, which has tests of its own, is the check.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import AddressError
from excerpts.score import Part, score_from_bytes
from excerpts.score.address import Resolver
from excerpts.score.bars import BarRange
from excerpts.score.write_address import address_of, note_address
from tests.music import FIRST, bars_of, part, score
from tests.score.test_address import MARKED, PLAIN

QUARTERS = "C5:1 D5:1 E5:1 F5:1"


def one(data: bytes) -> Part:
    return score_from_bytes(data, "test").part()


def written(
    data: bytes, first: int, start: Fraction | int, last: int, end: Fraction | int, pupil: int = 0
) -> str:
    bars = one(data).bars
    return address_of(bars, BarRange(first, Fraction(start), last, Fraction(end)), "test", pupil)


@pytest.mark.parametrize(
    ("span", "address"),
    [
        ((0, 0, 0, 4), "1"),
        ((1, 0, 4, 4), "2-5"),
        ((1, 2, 2, 1), "2:3-3:1"),
        ((1, 2, 1, 4), "2:3-2"),
        ((1, 0, 2, 2), "2-3:2"),
        ((1, Fraction(1, 2), 1, Fraction(3, 2)), "2:1.5-2:2.25"),
        ((1, Fraction(1, 3), 1, Fraction(2, 3)), "2:1.33-2:1.33"),
    ],
)
def test_plain_bars(span: tuple[int, int, int, int], address: str) -> None:
    assert written(PLAIN, *span) == address


def test_marks_are_not_taken_for_bars_and_the_pupils_numbers_are_written() -> None:
    assert written(MARKED, 2, 0, 4, 4) == "3-5"
    assert written(PLAIN, 2, 0, 4, 4, pupil=10) == "13-15"


def _numbered(*labels: str) -> bytes:
    return bars_of(*[QUARTERS] * len(labels), numbers=list(labels))


def test_a_number_that_comes_twice_goes_by_place() -> None:
    twice = _numbered("1", "2", "3", "1", "2", "4")
    assert written(twice, 1, 0, 2, 4) == "@2-@3"
    assert written(twice, 4, 2, 5, 2) == "@5:3-@6:2"
    assert written(twice, 2, 0, 5, 4) == "3-4"


def test_a_bar_in_two_measures_is_named_once() -> None:
    split = _numbered("1", "2", "2", "3")
    assert written(split, 1, 0, 2, 4) == "2"
    assert written(split, 2, 0, 2, 4) == "@3"


def test_nothing_is_not_named() -> None:
    with pytest.raises(AddressError):
        written(PLAIN, 1, 2, 1, 2)


def _metre(above: str, below: int, pickup: Fraction, labels: list[str]) -> bytes:
    """Quavers in a metre behind a pick-up, which is no bar to those who count."""
    length = Fraction(4 * sum(map(int, above.split("+"))), below)
    first = FIRST.replace(
        "<beats>4</beats><beat-type>4</beat-type>", f"<beats>{above}</beats><beat-type>{below}</beat-type>"
    )
    bar = " ".join(["D5:1/2"] * int(length * 2))
    texts = [f"{first} C5:{pickup}", *[bar] * len(labels)]
    return score(part(texts, ['0" implicit="yes', *labels]))


MANY = [
    PLAIN,
    MARKED,
    _numbered("1", "2", "3", "1", "2", "4", "4", "", "X1", "5-6"),
    _metre("3", 4, Fraction(1), ["1", "2", "3", "3", "4"]),
    _metre("6", 8, Fraction(1, 2), ["1", "2", "3", "1", "2", "3"]),
    _metre("9", 8, Fraction(5, 2), ["1", "2", "3"]),
    _metre("5", 8, Fraction(1, 3), ["1", "", "3"]),
    _metre("2+3", 8, Fraction(3, 4), ["1", "2", "2", "3"]),
    _metre("2", 2, Fraction(1, 8), ["1", "2", "3"]),
]


@st.composite
def sides(draw: st.DrawFn, part: Part) -> str:
    """One side of an address: a place or a number, with a beat or without."""
    index = draw(st.integers(0, len(part.bars) - 1))
    name = draw(st.sampled_from([f"@{index + 1}", part.bars.labels[index] or f"@{index + 1}"]))
    beat = draw(
        st.sampled_from(["", ":1", ":2", ":3", ":4", ":1.5", ":2.25", ":1.33", ":2.67", ":3.125", ":2.5"])
    )
    return name + beat


@pytest.mark.parametrize("which", range(len(MANY)))
@given(data=st.data())
def test_whatever_an_address_names_is_named_again(which: int, data: st.DataObject) -> None:
    part = one(MANY[which])
    resolver = Resolver(part.bars, "test")
    first, last = data.draw(sides(part)), data.draw(sides(part))
    try:
        span = resolver.resolve(first if first == last else f"{first}-{last}")
    except AddressError:
        return
    written = address_of(part.bars, span, "test")
    assert resolver.resolve(written) == span
    assert len(written) <= len(f"{first}-{last}") + 5
    in_pupils = address_of(part.bars, span, "test", 7)
    assert Resolver(part.bars, "test", 7).resolve(in_pupils) == span


@pytest.mark.parametrize("which", range(len(MANY)))
@given(data=st.data())
def test_a_note_is_named_by_its_beat(which: int, data: st.DataObject) -> None:
    bars = one(MANY[which]).bars
    index = data.draw(st.integers(0, len(bars) - 1))
    onset = Fraction(data.draw(st.integers(0, 7)), 2) % bars.length(index)
    written = note_address(bars, index, onset, "test")
    span = Resolver(bars, "test").resolve(written)
    assert (span.first, span.start) == (index, onset)
    assert ":" in written
