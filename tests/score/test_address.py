"""Addresses: every form, on plain and on awkward bars."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from excerpts.errors import AddressError
from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.score.bars import BarRange
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


def find(data: bytes, address: str) -> BarRange:
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
    assert find(PLAIN, "2:3-4:1") == BarRange(1, Fraction(2), 3, Fraction(1))
    assert find(PLAIN, "2:2.5-2:3") == BarRange(1, Fraction(3, 2), 1, Fraction(3))


def test_one_beat() -> None:
    assert find(PLAIN, "2:4") == BarRange(1, Fraction(3), 1, Fraction(4))


def test_thirds_of_a_beat() -> None:
    assert find(PLAIN, "2:1.33-2:1.67") == BarRange(1, Fraction(1, 3), 1, Fraction(1))


def test_compound_metre_counts_dotted_beats() -> None:
    first = FIRST.replace("<beats>4</beats><beat-type>4", "<beats>6</beats><beat-type>8")
    data = score(part([f"{first} C5:3", "C5:3/2 D5:3/2"]))
    assert find(data, "2:2") == BarRange(1, Fraction(3, 2), 1, Fraction(3))
    with pytest.raises(AddressError, match="beat 3 of bar 2, which has none"):
        find(data, "2:3")


def test_a_pick_up_counts_back_from_its_barline() -> None:
    data = bars_of("C5:1", "C5:4", "C5:4", numbers=['0" implicit="yes', "1", "2"])
    assert find(data, "0:4-1:1") == BarRange(0, Fraction(0), 1, Fraction(1))
    with pytest.raises(AddressError, match="beat 1 of bar 0, which has none"):
        find(data, "0:1")


def test_a_split_bar_is_one_bar() -> None:
    data = bars_of("C5:4", "C5:1 D5:1", "E5:1 F5:1", "C5:4", numbers=["1", "2", "2", "3"])
    assert where(data, "2") == (2, 3)
    assert find(data, "2:3") == BarRange(2, Fraction(0), 2, Fraction(1))
    assert find(data, "2:1-2:2") == BarRange(1, Fraction(0), 1, Fraction(2))
    assert where(data, "1+1") == (2, 3)
    assert where(data, "@2") == (2, 2)


def test_labels_need_not_be_numbers() -> None:
    data = bars_of("C5:4", "C5:4", "C5:4", numbers=["1", "X1", "2a"])
    assert where(data, "X1") == (2, 2)
    assert where(data, "X1-2a") == (2, 3)


def test_a_number_that_comes_twice_lists_its_places() -> None:
    data = bars_of(*["C5:4"] * 6, numbers=["1", "2", "3", "1", "2", "3"])
    with pytest.raises(AddressError, match=r"'2' is in more than one place: bar 2 \(@2\), bar 2 \(@5\)"):
        find(data, "2")
    with pytest.raises(AddressError, match=r"'1-2' is in more than one place: @1-@2, @4-@5"):
        find(data, "1-2")
    with pytest.raises(AddressError, match=r"'@1-2' is in more than one place: @1-@2, @1-@5"):
        find(data, "@1-2")
    assert where(data, "@4-@5") == (4, 5)
    assert where(data, "@4-2") == (4, 5)


def test_several_movements_are_told_in_messages() -> None:
    data = bars_of(*["C5:4"] * 7, numbers=["1", "2", "3", "0", "1", "2", "12"])
    with pytest.raises(AddressError, match=r"bars 1 to 3 \(@1 to @3\), then bars 0 to 12 \(@4 to @7\)"):
        find(data, "40")
    assert where(data, "12") == (7, 7)
    with pytest.raises(AddressError, match=r"'1-12' is in more than one place: @1-@7, @5-@7"):
        find(data, "1-12")
    assert where(data, "3-12") == (3, 7)


def test_endings_in_which_a_number_comes_again() -> None:
    left = "<barline location='left'><ending number='{}' type='start'/></barline>"
    right = "<barline location='right'><ending number='{}' type='stop'/></barline>"
    data = bars_of(
        "C5:4",
        f"{left.format(1)} C5:4 {right.format(1)}",
        f"{left.format(2)} C5:4 {right.format(2)}",
        "C5:4",
        numbers=["7", "8", "8a", "9"],
    )
    assert where(data, "8") == (2, 2)
    assert where(data, "7-8a") == (1, 3)


def test_bars_without_numbers() -> None:
    data = bars_of("C5:4", "C5:4", numbers=["", ""])
    with pytest.raises(AddressError, match=r"there is no bar 2. The part has bars without numbers, @1 to @2"):
        find(data, "2")
    assert where(data, "@2") == (2, 2)


def test_labels_and_marks_with_dashes() -> None:
    data = bars_of("C5:4", "C5:4", f"{mark('A-B')} C5:4", "C5:4", numbers=["1", "1-a", "2", "3"])
    assert where(data, "1-a") == (2, 2)
    assert where(data, "1-a-3") == (2, 4)
    assert where(data, "1-1-a") == (1, 2)
    assert where(data, "A-B") == (3, 4)
    assert where(data, "1-a-A-B") == (2, 2)


def test_a_pick_up_that_has_the_number_of_the_bar_after_it() -> None:
    data = bars_of("C5:1", "C5:4", "C5:4", numbers=["1", "1", "2"])
    assert find(data, "1:1") == BarRange(1, Fraction(0), 1, Fraction(1))
    assert find(data, "1:4-2:1") == BarRange(1, Fraction(3), 2, Fraction(1))
    assert where(data, "1") == (1, 2)


def test_beats_of_a_split_bar_count_on_over_the_repeat() -> None:
    data = bars_of("C5:4", "C5:3", "D5:1", "C5:4", numbers=["1", "2", 'X1" implicit="yes', "3"])
    assert find(data, "X1:4-3:1") == BarRange(2, Fraction(0), 3, Fraction(1))
    assert find(data, "2:3") == BarRange(1, Fraction(2), 1, Fraction(3))


@pytest.mark.parametrize(
    ("beats", "unit", "address", "start", "end"),
    [
        ("3", "8", "2:2", Fraction(1, 2), Fraction(1)),
        ("9", "8", "2:3", Fraction(3), Fraction(9, 2)),
        ("12", "8", "2:2-2:3", Fraction(3, 2), Fraction(9, 2)),
        ("5", "8", "2:4", Fraction(3, 2), Fraction(2)),
        ("3+2", "8", "2:2", Fraction(1, 2), Fraction(1)),
        ("2", "2", "2:2", Fraction(2), Fraction(4)),
        ("6", "4", "2:2", Fraction(1), Fraction(2)),
        ("3", "16", "2:3", Fraction(1, 2), Fraction(3, 4)),
        ("4", "4", "2:1.25-2:1.5", Fraction(1, 4), Fraction(1)),
    ],
)
def test_beats_of_any_metre(beats: str, unit: str, address: str, start: Fraction, end: Fraction) -> None:
    first = FIRST.replace("<beats>4</beats><beat-type>4", f"<beats>{beats}</beats><beat-type>{unit}")
    data = score(part([f"{first} C5:6", "C5:6"]))
    assert find(data, address) == BarRange(1, start, 1, end)


def test_beats_where_there_is_no_metre_are_quarter_notes() -> None:
    first = re.sub(r"<time>.*</time>", "<time><senza-misura/></time>", FIRST)
    data = score(part([f"{first} C5:7", "C5:7"]))
    assert find(data, "2:6-2:7") == BarRange(1, Fraction(5), 1, Fraction(7))


def test_a_number_inside_a_rest_that_is_held_as_one_measure() -> None:
    many = "<attributes><measure-style><multiple-rest>6</multiple-rest></measure-style></attributes>"
    data = bars_of("C5:4", f"{many} r:4", "C5:4", numbers=["1", "2", "8"])
    assert where(data, "5") == (2, 2)
    assert where(data, "4-8") == (2, 3)


def test_an_empty_bar_without_a_metre_is_no_passage() -> None:
    data = score(part(["<attributes><divisions>1</divisions></attributes>", "C5:4"]))
    with pytest.raises(AddressError, match="there is no music in '1': the bar is empty"):
        find(data, "1")


# The numbers of the pupil's own edition


def pupil(address: str, shift: int) -> Excerpt:
    return score_from_bytes(PLAIN, "test").part().passage(address, pupil_bars=shift).cut(context=1)


def test_bars_in_the_numbers_of_the_pupils_edition() -> None:
    excerpt = pupil("7-8", 4)
    assert [(bar.label, bar.place) for bar in excerpt.bars] == [("6", 2), ("7", 3), ("8", 4), ("9", 5)]
    assert [m.get("number") for m in excerpt.tree().iter("measure")] == ["6", "7", "8", "9"]
    assert "restated bar numbers: 4 higher than in the file" in [str(line) for line in excerpt.report]
    assert [bar.place for bar in pupil("1-2", -2).bars] == [2, 3, 4, 5]
    assert [bar.place for bar in pupil("@3", 4).bars] == [2, 3, 4]


def test_letters_move_with_their_numbers_and_other_labels_stay() -> None:
    data = bars_of("C5:4", "C5:4", "C5:4", numbers=["1", "1a", "X1"])
    excerpt = score_from_bytes(data, "test").part().passage("5-5a", pupil_bars=4).cut(context=1)
    assert [bar.label for bar in excerpt.bars] == ["5", "5a", "X1"]


@pytest.mark.parametrize(
    ("address", "message"),
    [
        (
            "3",
            "there is no bar 3 (-1 in the file). The part has bars 5 to 12 (1 to 8 in the file; 8 in all)",
        ),
        ("6:9", "asks for beat 9 of bar 6 (2 in the file), which has none"),
    ],
)
def test_errors_speak_in_both_numberings(address: str, message: str) -> None:
    with pytest.raises(AddressError) as caught:
        pupil(address, 4)
    assert message in str(caught.value)


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
        ("2:9", "asks for beat 9 of bar 2, which has none. Its metre is 4/4; it has beats 1 to 4."),
    ],
)
def test_what_cannot_be_found_is_said(address: str, message: str) -> None:
    with pytest.raises(AddressError) as caught:
        find(PLAIN, address)
    assert message in str(caught.value)
    assert "part Violin" in str(caught.value)


@pytest.mark.parametrize(
    ("metre", "bar", "address", "told"),
    [
        ("6/8", "C5:3/2 C5:3/2", "2:3", "Its metre is 6/8; it has beats 1 to 2."),
        ("4/4", "C5:2 C5:2 C5:1", "2:6", "Its metre is 4/4; it has beats 1 to 5."),
        ("4/4", "C5:3", "2:4", "Its metre is 4/4; it has beats 1 to 3."),
        (
            "4/4",
            "C5:3/2",
            "1:1",
            "and it is a pick-up, which counts back from its barline: it has beats 3.5 to 4.",
        ),
        ("4/4", "C5:1", "1:2.5", "it has beat 4."),
    ],
)
def test_the_beats_that_there_are_are_told(metre: str, bar: str, address: str, told: str) -> None:
    beats, _, unit = metre.partition("/")
    first = FIRST.replace("<beats>4</beats><beat-type>4", f"<beats>{beats}</beats><beat-type>{unit}")
    bars = [f"{first} {bar}", "C5:4"] if address.startswith("1:") else [f"{first} C5:3", bar, "C5:3"]
    with pytest.raises(AddressError, match=re.escape(told)):
        find(score(part(bars)), address)


def test_a_mark_that_comes_twice_is_ambiguous() -> None:
    data = bars_of(f"{mark('A')} C5:4", f"{mark('A')} C5:4")
    with pytest.raises(AddressError, match=r"mark A \(@1\), mark A \(@2\)"):
        find(data, "A")


def test_a_mark_that_only_another_part_has_is_for_all() -> None:
    top = part([f"{FIRST} C5:4", f"{mark('C')} C5:4", "C5:4", f"{mark('D')} C5:4"])
    low = part([f"{FIRST} C4:4"] + ["C4:4"] * 3, part_id="P2")
    opened = score_from_bytes(score(top, low, names=("Violin", "Viola")), "test")
    span = opened.part("Viola").passage("C").span
    assert (span.first + 1, span.last + 1) == (2, 3)
