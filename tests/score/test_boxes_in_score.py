"""Passages marked in the score: which elements count, and which addresses they give."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.score import score_from_bytes
from excerpts.score.boxes_in_score import read_marks
from tests.music import bars_of
from tests.score.cutting import direction

RED = "#C00000"


def found(data: bytes, pupil_bars: int = 0) -> list[tuple[str, str]]:
    boxes = read_marks(score_from_bytes(data, "test").part(), pupil_bars).boxes
    return [(box.address, box.by) for box in boxes]


def not_boxed(data: bytes, pupil_bars: int = 0) -> list[str]:
    return [str(other) for other in read_marks(score_from_bytes(data, "test").part(), pupil_bars).others]


def said(data: bytes) -> list[tuple[str, tuple[str, ...], str]]:
    """Bars, faults and note of each box."""
    return [(b.address, b.why, b.note) for b in read_marks(score_from_bytes(data, "test").part()).boxes]


def bracket(kind: str, number: int = 1) -> str:
    return direction(f"<bracket type='{kind}' number='{number}' line-end='down'/>")


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


@pytest.mark.parametrize(
    ("bars", "box"),
    [
        (["C5:4", "C5:2 {start} D5:1 E5:1", "C5:2 {stop} D5:2"], "2:3-3:2"),
        (["C5:4", "C5:1 {start} D5:1 {stop} E5:2", "C5:4"], "2:2-2:2"),
        (["C5:4", "{start} C5:1 D5:1 E5:2 {stop}", "C5:4"], "2"),
        (["C5:4", "{start} C5:4", "{stop} C5:4"], "2"),
        (["C5:4", "C5:4 {start}", "C5:4 {stop}"], "3"),
        (["C5:4", "C5:1 {start} {stop} D5:1 E5:2", "C5:4"], "2:2-2:2"),
        (["C5:4", "C5:1/2 {start} D5:1/2 E5:1/2 {stop} F5:1/2 C5:2", "C5:4"], "2:1-2:2"),
    ],
    ids=[
        "over the barline",
        "inside",
        "whole bar",
        "to the barline",
        "from the barline",
        "one note",
        "half beats",
    ],
)
def test_a_bracket_line_keeps_its_beats(bars: list[str], box: str) -> None:
    marked = [bar.format(start=bracket("start"), stop=bracket("stop")) for bar in bars]
    assert found(bars_of(*marked)) == [(box, "bracket")]


@pytest.mark.parametrize(
    ("pick_up", "box"),
    [
        (f"{red('C5:1/2')} D5:1", "1-1:3.5"),
        (f"C5:1/2 {red('D5:1')}", "1:4-1:4"),
        (f"{red('C5:1/2')}", "1"),
    ],
)
def test_a_mark_in_a_pick_up_that_begins_inside_a_beat(pick_up: str, box: str) -> None:
    whole = "C5:2 D5:2" if box == "1" else "C5:1 D5:1 E5:1 F5:1"
    assert found(bars_of(pick_up, whole, whole)) == [(box, "colour")]


def labelled(words: str) -> str:
    """The start of a bracket line in one direction with words."""
    return (
        f"<direction><direction-type><words>{words}</words></direction-type>"
        "<direction-type><bracket type='start' number='1' line-end='none'/></direction-type></direction>"
    )


@pytest.mark.parametrize(
    "words", ["sul G", "IV", "4", "restez", "sul pont.", "2nd position", "cresc.", "at the frog"]
)
@pytest.mark.parametrize("way", ["one direction", "words first", "line first"])
def test_a_bracket_that_says_how_long_to_play_so_is_none(words: str, way: str) -> None:
    apart = [direction(f"<words>{words}</words>"), bracket("start")]
    start = {
        "one direction": labelled(words),
        "words first": "".join(apart),
        "line first": "".join(reversed(apart)),
    }[way]
    data = bars_of(f"{start} C5:4", f"C5:4 {bracket('stop')}")
    assert (found(data), not_boxed(data)) == ([], [])


def test_words_for_playing_go_with_their_own_line_and_not_with_the_one_beside() -> None:
    playing = f"{direction('<words>sul G</words>')} {bracket('start')}"
    ends = f"{bracket('stop')} {bracket('stop', 2)}"
    for start in (f"{playing} {bracket('start', 2)}", f"{bracket('start', 2)} {playing}"):
        assert found(bars_of("C5:4", f"{start} C5:4", f"C5:4 {ends}")) == [("2-3", "bracket")]
    later = f"{direction('<words>sul G</words>')} C5:2 {bracket('start')} C5:2"
    assert found(bars_of("C5:4", later, f"C5:4 {bracket('stop')}")) == [("2:3-3:4", "bracket")]


def test_words_that_only_stand_beside_a_bracket_do_not_take_it() -> None:
    start = f"{direction('<words>dolce</words>')} {bracket('start')}"
    assert said(bars_of(f"{start} C5:4", f"C5:4 {bracket('stop')}")) == [("1-2", (), "")]


def test_a_bracket_behind_words_that_are_not_understood_is_told() -> None:
    data = bars_of(f"{labelled('misterioso')} C5:4", f"C5:4 {bracket('stop')}")
    assert found(data) == []
    assert not_boxed(data) == [
        'bar 1: the bracket line after "misterioso" is taken to belong to these words.'
    ]


@pytest.mark.parametrize(
    "start",
    [
        labelled("shift"),
        f"{direction('<words>Shift!</words>')} {bracket('start')}",
        f"{rectangle('shift')} {bracket('start')}",
    ],
    ids=["one direction", "two directions", "in a rectangle"],
)
def test_a_fault_at_a_bracket_says_why(start: str) -> None:
    data = bars_of("C5:4", f"{start} C5:4", f"C5:4 {bracket('stop')}")
    assert said(data) == [("2-3", ("shift",), "")]


def test_brackets_without_their_other_end_are_told() -> None:
    data = bars_of(f"{bracket('start')} C5:4", "C5:4", f"C5:4 {bracket('stop', 2)}")
    assert found(data) == []
    assert sorted(not_boxed(data)) == [
        "bar 1: a bracket line begins that never ends, and boxes nothing.",
        "bar 3: a bracket line ends that never began, and boxes nothing.",
    ]
    playing = bars_of(f"{direction('<words>sul G</words>')} {bracket('start')} C5:4", "C5:4")
    assert not_boxed(playing) == []


def test_a_bracket_over_no_note_is_told() -> None:
    data = bars_of("C5:4", f"C5:4 {bracket('start')} {bracket('stop')}")
    assert found(data) == []
    assert not_boxed(data) == ["bar 2: a bracket line has no note under it, and boxes nothing."]


@pytest.mark.parametrize(
    ("texts", "boxes"),
    [
        ({1: "2-4"}, ["2-4"]),
        ({1: "2:3-3:1"}, ["2:3-3:1"]),
        ({1: "box"}, ["2"]),
        ({1: "box", 3: "box"}, ["2-4"]),
        ({1: "shift", 2: "tone", 3: "shift"}, ["2-4", "3"]),
        ({1: "bars 2–4"}, ["2-4"]),
        ({0: "mm. 2-4"}, ["2-4"]),
        ({0: "Takt 2 bis 4"}, ["2-4"]),
        ({0: "bar 5"}, ["5"]),
        ({4: "5"}, ["5"]),
    ],
    ids=[
        "address",
        "beats",
        "one bar",
        "from one to the other",
        "two texts",
        "bars",
        "mm.",
        "Takt",
        "bar",
        "number",
    ],
)
def test_words_in_a_rectangle(texts: dict[int, str], boxes: list[str]) -> None:
    bars = [f"{rectangle(texts[n])} C5:1 D5:1 E5:2" if n in texts else "C5:1 D5:1 E5:2" for n in range(5)]
    assert found(bars_of(*bars)) == [(box, "rectangle") for box in boxes]


def test_the_same_word_far_off_is_another_box() -> None:
    bars = [f"{rectangle('tone')} C5:4" if place in (1, 30, 32) else "C5:4" for place in range(40)]
    assert found(bars_of(*bars)) == [("2", "rectangle"), ("31-33", "rectangle")]


def test_words_in_a_rectangle_that_are_not_understood_are_told_and_boxed_nowhere() -> None:
    data = bars_of(
        f"{rectangle('pizz.')} C5:4",
        f"{rectangle('99-103')} C5:4",
        f"{rectangle('pizz.')} C5:4",
        f"{rectangle('2')} C5:4",
    )
    assert found(data) == []
    told = not_boxed(data, 10)
    assert told[0].startswith(
        'bars 11 (1 in the file), 13 (3 in the file): "pizz." in a rectangle names no passage;'
    )
    assert told[1] == (
        'bar 12 (2 in the file): "99-103" in a rectangle: there is no bar 99. The part has bars 1 to 4 (4 in all).'
    )
    assert told[2].startswith('bar 14 (4 in the file): "2" in a rectangle is in another bar; if bar 2')


def test_a_frame_of_another_shape_counts_where_its_words_are_understood() -> None:
    circled = [
        direction(f"<words enclosure='circle'>{text}</words>") for text in ("shift", "3", "Solo", "bar 4")
    ]
    data = bars_of(*[f"{mark} C5:4" for mark in circled])
    assert said(data) == [("1", ("shift",), ""), ("4", (), "")]
    assert not_boxed(data) == []


def test_faults_and_notes_in_a_rectangle() -> None:
    data = bars_of(
        f"{rectangle('shift, tone')} C5:4",
        f"{rectangle('bars 2–3: thumb first')} C5:4",
        f"{rectangle('3 Lagenwechsel')} C5:4",
        f"{rectangle('intonation: hear it first')} C5:4",
    )
    assert said(data) == [
        ("1", ("shift", "tone"), ""),
        ("2-3", (), "thumb first"),
        ("3", ("shift",), ""),
        ("4", ("intonation",), "hear it first"),
    ]


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


def test_the_colour_of_one_note_of_a_chord_is_that_of_the_chord() -> None:
    upper = f"<note color='{RED}'><chord/><pitch><step>A</step><octave>5</octave></pitch><duration>24</duration></note>"
    data = bars_of("C5:4", f"C5:1 D5:1 {upper} E5:2", "C5:2 D5:2")
    assert found(data) == [("2:2-2:2", "colour")]


def test_black_is_no_colour_and_a_coloured_part_is_not_marked() -> None:
    black = "C5:2[<notehead color='#000000'>normal</notehead>]"
    assert found(bars_of(f"{black} C5:2", "C5:4")) == []
    coloured = bars_of(red("C5:2", "D5:2"), red("C5:4"), "C5:4")
    assert found(coloured) == []
    assert not_boxed(coloured) == ["most notes of the part are coloured, so colour marks nothing in it."]


def test_a_colour_inside_a_beat_takes_in_the_whole_beat() -> None:
    data = bars_of("C5:4", f"C5:1/2 {red('D5:1/2', 'E5:1/2')} F5:1/2 C5:2", "C5:2 C5:2")
    assert found(data) == [("2:1-2:2", "colour")]
    (box,) = read_marks(score_from_bytes(data, "test").part()).boxes
    assert (box.span.start, box.span.end) == (Fraction(0), Fraction(2))


def test_marks_come_in_the_order_of_the_bars_and_each_passage_once() -> None:
    data = bars_of(
        "C5:4", f"{rectangle('2')} {bracket('start')} C5:4 {bracket('stop')}", f"{rectangle('bar 1')} C5:4"
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
