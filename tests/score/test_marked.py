"""Passages marked in the score: which elements count, and which addresses they give."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.score import score_from_bytes
from excerpts.score.marked import marked_boxes
from tests.music import bars_of
from tests.score.cutting import direction

RED = "#C00000"


def found(data: bytes, pupil_bars: int = 0) -> list[tuple[str, str]]:
    boxes = marked_boxes(score_from_bytes(data, "test").part(), pupil_bars)
    return [(box.address, box.by) for box in boxes]


def bracket(kind: str) -> str:
    return direction(f"<bracket type='{kind}' number='1' line-end='down'/>")


def rectangle(text: str) -> str:
    return direction(f"<words enclosure='rectangle'>{text}</words>")


def red(*notes: str) -> str:
    """Notes in red, written as bars are."""
    return " ".join(f"{note}[<notehead color='{RED}'>normal</notehead>]" for note in notes)


def test_a_bracket_line_is_a_box() -> None:
    data = bars_of("C5:4", f"{bracket('start')} C5:4", f"C5:4 {bracket('stop')}", "C5:4")
    assert found(data) == [("2-3", "bracket")]


def test_a_bracket_line_that_stops_at_the_barline_does_not_reach_into_the_next_bar() -> None:
    data = bars_of("C5:4", f"{bracket('start')} C5:4", "C5:4", f"{bracket('stop')} C5:4")
    assert found(data) == [("2-3", "bracket")]


def test_a_bracket_that_belongs_to_words_is_none() -> None:
    start = (
        "<direction><direction-type><words>sul G</words></direction-type>"
        "<direction-type><bracket type='start' number='1' line-end='none'/></direction-type></direction>"
    )
    assert found(bars_of(f"{start} C5:4", f"C5:4 {bracket('stop')}")) == []


@pytest.mark.parametrize(
    ("texts", "boxes"),
    [
        ({1: "2-4"}, ["2-4"]),
        ({1: "2:3-3:1"}, ["2:3-3:1"]),
        ({1: "box"}, ["2"]),
        ({1: "box", 3: "box"}, ["2-4"]),
        ({1: "a", 2: "b", 3: "a"}, ["2-4", "3"]),
        ({1: "99"}, ["2"]),
    ],
    ids=["an address", "beats", "one bar", "from one to the other", "two texts", "no bar of the part"],
)
def test_words_in_a_rectangle(texts: dict[int, str], boxes: list[str]) -> None:
    bars = [f"{rectangle(texts[n])} C5:1 D5:1 E5:2" if n in texts else "C5:1 D5:1 E5:2" for n in range(5)]
    assert found(bars_of(*bars)) == [(box, "rectangle") for box in boxes]


def test_rehearsal_marks_and_plain_words_mark_nothing() -> None:
    mark = direction("<rehearsal enclosure='rectangle'>A</rehearsal>")
    assert found(bars_of(f"{mark} {direction('<words>dolce</words>')} C5:4")) == []


def test_notes_in_one_colour() -> None:
    data = bars_of(
        "C5:4", f"C5:1 {red('D5:1', 'E5:1', 'F5:1')}", f"{red('G5:2')} A5:2", "C5:4", "C5:1 D5:1 C5:2"
    )
    assert found(data) == [("2:2-3:2", "colour")]
    whole = bars_of("C5:2 D5:2", red("D5:2", "E5:2"), "C5:2 D5:2", "C5:4")
    assert found(whole) == [("2", "colour")]


def test_a_run_of_a_colour_ends_at_another_colour_and_at_black_and_goes_on_over_rests() -> None:
    blue = "E5:1[<notehead color='#0000FF'>normal</notehead>]"
    data = bars_of("C5:2 D5:2", f"{red('C5:1')} r:1 {red('D5:1')} {blue}", "C5:1 D5:1 E5:1 F5:1", "C5:2 D5:2")
    assert found(data) == [("2:1-2:3", "colour"), ("2:4-2:4", "colour")]


def test_black_is_no_colour_and_a_coloured_part_is_not_marked() -> None:
    black = "C5:2[<notehead color='#000000'>normal</notehead>]"
    assert found(bars_of(f"{black} C5:2", "C5:4")) == []
    assert found(bars_of(red("C5:2", "D5:2"), red("C5:4"), "C5:4")) == []


def test_a_colour_inside_a_beat_takes_in_the_whole_beat() -> None:
    data = bars_of("C5:4", f"C5:1/2 {red('D5:1/2', 'E5:1/2')} F5:1/2 C5:2", "C5:2 C5:2")
    assert found(data) == [("2:1-2:2", "colour")]
    (box,) = marked_boxes(score_from_bytes(data, "test").part())
    assert (box.span.start, box.span.end) == (Fraction(0), Fraction(2))


def test_marks_come_in_the_order_of_the_bars_and_each_passage_once() -> None:
    data = bars_of(
        "C5:4", f"{rectangle('2')} {bracket('start')} C5:4 {bracket('stop')}", f"{rectangle('1')} C5:4"
    )
    assert found(data) == [("1", "rectangle"), ("2", "bracket")]


def test_bars_that_have_no_number_of_their_own_are_named_by_their_place() -> None:
    data = bars_of(
        "C5:4", f"{bracket('start')} C5:4 {bracket('stop')}", "C5:4", "C5:4", numbers=["1", "2", "1", "2"]
    )
    assert found(data) == [("@2", "bracket")]


def test_addresses_are_in_the_numbers_of_the_pupils_edition() -> None:
    data = bars_of("C5:4", f"{bracket('start')} C5:4 {bracket('stop')}", f"{rectangle('3')} C5:4")
    assert found(data, 4) == [("6", "bracket"), ("7", "rectangle")]
