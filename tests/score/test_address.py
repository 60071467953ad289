"""Addresses: every form, on plain and on awkward bars."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.errors import AddressError
from excerpts.score import score_from_bytes
from excerpts.score.address import Span
from tests.music import FIRST, bars_of, part, score

PLAIN = bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 8)


def mark(text: str) -> str:
    return f"<direction><direction-type><rehearsal>{text}</rehearsal></direction-type></direction>"


MARKED = bars_of(
    "C5:4", "C5:4", f"{mark('C')} C5:4", "C5:4", "C5:4", f"{mark('D')} C5:4", "C5:4", f"{mark('12')} C5:4"
)


def where(data: bytes, address: str) -> tuple[int, int]:
    """Places of the first and last measure that an address names."""
    span = find(data, address)
    return span.first + 1, span.last + 1


def find(data: bytes, address: str) -> Span:
    return score_from_bytes(data, "test").part().passage(address).span


@pytest.mark.parametrize(
    ("address", "places"),
    [
        ("3", (3, 3)),
        ("2-5", (2, 5)),
        ("2–5", (2, 5)),
        (" 2 - 5 ", (2, 5)),
        ("@1-@4", (1, 4)),
        ("@8", (8, 8)),
        ("2+2", (4, 4)),
    ],
)
def test_plain_bars(address: str, places: tuple[int, int]) -> None:
    assert where(PLAIN, address) == places


@pytest.mark.parametrize(
    ("address", "places"),
    [
        ("C", (3, 5)),
        ("C-D", (3, 5)),
        ("C+2", (5, 5)),
        ("D", (6, 7)),
        ("mark:12", (8, 8)),
        ("C-7", (3, 7)),
        ("1-C", (1, 2)),
        ("C+1-D+1", (4, 7)),
    ],
)
def test_rehearsal_marks(address: str, places: tuple[int, int]) -> None:
    assert where(MARKED, address) == places


def test_from_beat_to_beat_includes_the_end_beat() -> None:
    assert find(PLAIN, "2:3-4:1") == Span(1, Fraction(2), 3, Fraction(1))
    assert find(PLAIN, "2:2.5-2:3") == Span(1, Fraction(3, 2), 1, Fraction(3))


def test_one_beat() -> None:
    assert find(PLAIN, "2:4") == Span(1, Fraction(3), 1, Fraction(4))


def test_thirds_of_a_beat() -> None:
    assert find(PLAIN, "2:1.33-2:1.67") == Span(1, Fraction(1, 3), 1, Fraction(1))


def test_compound_metre_counts_dotted_beats() -> None:
    first = FIRST.replace("<beats>4</beats><beat-type>4", "<beats>6</beats><beat-type>8")
    data = score(part([f"{first} C5:3", "C5:3/2 D5:3/2"]))
    assert find(data, "2:2") == Span(1, Fraction(3, 2), 1, Fraction(3))
    with pytest.raises(AddressError, match="beat 3 of bar 2, which has none"):
        find(data, "2:3")


def test_a_pick_up_counts_back_from_its_barline() -> None:
    data = bars_of("C5:1", "C5:4", "C5:4", numbers=['0" implicit="yes', "1", "2"])
    assert find(data, "0:4-1:1") == Span(0, Fraction(0), 1, Fraction(1))
    with pytest.raises(AddressError, match="beat 1 of bar 0, which has none"):
        find(data, "0:1")


def test_a_split_bar_is_one_bar() -> None:
    data = bars_of("C5:4", "C5:1 D5:1", "E5:1 F5:1", "C5:4", numbers=["1", "2", "2", "3"])
    assert where(data, "2") == (2, 3)
    assert find(data, "2:3") == Span(2, Fraction(0), 2, Fraction(1))
    assert find(data, "2:1-2:2") == Span(1, Fraction(0), 1, Fraction(2))
    assert where(data, "1+1") == (2, 3)
    assert where(data, "@2") == (2, 2)


def test_labels_need_not_be_numbers() -> None:
    data = bars_of("C5:4", "C5:4", "C5:4", numbers=["1", "X1", "2a"])
    assert where(data, "X1") == (2, 2)
    assert where(data, "X1-2a") == (2, 3)


def test_a_number_that_comes_twice_lists_its_places() -> None:
    data = bars_of(*["C5:4"] * 6, numbers=["1", "2", "3", "1", "2", "3"])
    with pytest.raises(AddressError, match=r"'2' is in more than one place: bar 2 at @2, bar 2 at @5"):
        find(data, "1-2".replace("1-", "@1-"))
    assert where(data, "@4-@5") == (4, 5)


@pytest.mark.parametrize(
    ("address", "message"),
    [
        ("12", "there is no bar 12. The part has bars 1 to 8"),
        ("5-2", "'5-2' runs backwards"),
        ("3:3-3:1", "ends before it begins"),
        ("@9", "there is no place @9. The part has @1 to @8"),
        ("Q", "there is no rehearsal mark or bar 'Q'. It has no rehearsal marks"),
        ("mark:Q", "there is no rehearsal mark or bar 'Q'"),
        ("", "the address is empty"),
        ("1-2-3", "is not an address"),
        ("4:x", "is not an address"),
        ("7+5", "goes past the end of the part"),
        ("2:9", "asks for beat 9 of bar 2, which has none. Its metre is 4/4"),
    ],
)
def test_what_cannot_be_found_is_said(address: str, message: str) -> None:
    with pytest.raises(AddressError) as caught:
        find(PLAIN, address)
    assert message in str(caught.value)
    assert "part Violin" in str(caught.value)


def test_a_mark_that_comes_twice_is_ambiguous() -> None:
    data = bars_of(f"{mark('A')} C5:4", f"{mark('A')} C5:4")
    with pytest.raises(AddressError, match="mark A at @1, mark A at @2"):
        find(data, "A")
