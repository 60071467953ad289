"""Hazards of bars: labels, pick-ups and split bars, parts of unequal length, what stands in barlines."""

from __future__ import annotations

import pytest
from lxml import etree

from excerpts.score import score_from_bytes
from tests.music import FIRST, bars_of, part, score
from tests.score.cutting import bar_at, cut, direction, said

# C23 labels


@pytest.mark.parametrize(
    ("numbers", "address", "places"),
    [
        (["0", "1", "2", "3"], "1-2", (2, 3)),
        (["17", "18", "19", "20"], "18", (2, 2)),
        (["1", "X1", "2", "2a"], "X1-2a", (2, 4)),
        (["1", "4a", "4b", "5"], "4a-4b", (2, 3)),
        (["1", "2", "5", "6"], "2-5", (2, 3)),
        (["1", "12-a", "13", "14"], "12-a", (2, 2)),
    ],
    ids=["from 0", "from 17", "X", "letters", "a gap", "a dash"],
)
def test_c23_a_number_is_a_label(numbers: list[str], address: str, places: tuple[int, int]) -> None:
    excerpt = cut(bars_of(*["C5:4"] * 4, numbers=numbers), address)
    assert (excerpt.bars[0].place, excerpt.bars[-1].place) == places
    kept = [bar.get("number") for bar in excerpt.tree().iter("measure")]
    assert kept == numbers[places[0] - 1 : places[1]] == [bar.label for bar in excerpt.bars]


def test_c23_the_printed_text_of_a_bar_is_its_label() -> None:
    data = bars_of(*["C5:4"] * 4, numbers=["1", "2", '3" text="2bis', "4"])
    excerpt = cut(data, "2bis")
    assert (excerpt.bars[0].place, excerpt.bars[0].label) == (3, "2bis")
    assert bar_at(excerpt, 0).get("number") == "3"


def test_c23_a_bar_without_a_number_is_reached_by_its_place() -> None:
    data = bars_of(*["C5:4"] * 3, numbers=["1", "", "2"])
    excerpt = cut(data, "@2")
    assert (excerpt.bars[0].place, excerpt.bars[0].label) == (2, "")


# C24 implicit, split, short and overfull bars


def test_c24_a_pick_up_stays_short_and_implicit() -> None:
    data = bars_of("C5:1", "C5:4", "C5:4", numbers=['0" implicit="yes', "1", "2"])
    excerpt = cut(data, "1", 1)
    assert [(bar.label, int(bar.length)) for bar in excerpt.bars] == [("0", 1), ("1", 4), ("2", 4)]
    assert bar_at(excerpt, 0).get("implicit") == "yes"
    assert not [line for line in said(excerpt) if line.startswith("warning")]


def test_c24_a_bar_split_over_a_repeat_counts_twice_for_context_and_once_for_its_number() -> None:
    back = (
        "<barline location='right'><bar-style>light-heavy</bar-style><repeat direction='backward'/></barline>"
    )
    data = bars_of(
        "C5:4", f"C5:3 {back}", "D5:1", "C5:4", "C5:4", numbers=["1", "2", '2" implicit="yes', "3", "4"]
    )
    assert [bar.place for bar in cut(data, "2").bars] == [2, 3]
    assert [bar.place for bar in cut(data, "3", 1).bars] == [3, 4, 5]
    excerpt = cut(data, "1-4")
    assert [bar.length for bar in excerpt.bars] == [4, 3, 1, 4, 4]
    assert not [line for line in said(excerpt) if line.startswith("warning")]


def test_c24_a_bar_in_two_halves_under_two_numbers() -> None:
    data = bars_of("C5:4", "C5:2", "D5:2", "C5:4", numbers=["1", "2", 'X1" implicit="yes', "3"])
    excerpt = cut(data, "2-X1")
    assert [bar.length for bar in excerpt.bars] == [2, 2]
    assert not [line for line in said(excerpt) if line.startswith("warning")]


def test_c24_an_overfull_bar_is_kept_with_a_warning() -> None:
    excerpt = cut(bars_of("C5:4", "C5:4 C5:2", "C5:4"), "2")
    assert excerpt.bars[0].length == 6
    assert "warning bar too long in bar 2: 6 quarter notes where 4/4 has 4" in said(excerpt)


def test_c24_a_bar_that_lacks_a_beat_is_kept_with_a_warning() -> None:
    excerpt = cut(bars_of("C5:4", "C5:4", "C5:3", "C5:4", "C5:4"), "3")
    assert excerpt.bars[0].length == 3
    assert "warning bar too short in bar 3: 3 quarter notes where 4/4 has 4" in said(excerpt)


# C25 unequal and empty parts


def test_c25_parts_of_unequal_length() -> None:
    metronome = "<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
    top = part([f"{FIRST} C5:4", "C5:4"])
    low = part([f"{FIRST} C3:4", "C3:4", "C3:4", f"{direction(metronome)} C3:4"], part_id="P2")
    data = score(top, low, names=("Violin", "Cello"))
    assert [bar.label for bar in cut(data, "3", of="Cello").bars] == ["3"]
    assert [bar.label for bar in cut(data, "2", 1, of="Violin").bars] == ["1", "2"]


def test_c25_a_bar_without_notes_is_as_long_as_its_metre() -> None:
    data = bars_of("C5:4", "", "C5:4")
    assert [bar.length for bar in cut(data, "2-3").bars] == [4, 4]
    assert len(bar_at(cut(data, "1-3"), 1)) == 0


def test_c25_a_timewise_bar_that_lacks_the_part() -> None:
    listed = "".join(f"<score-part id='P{n}'><part-name>Part {n}</part-name></score-part>" for n in (1, 2))
    time = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    attributes = f"<attributes><divisions>1</divisions>{time}</attributes>"
    rest = "<note><rest/><duration>4</duration></note>"
    data = (
        f"<score-timewise version='4.0'><part-list>{listed}</part-list>"
        f"<measure number='1'><part id='P1'>{attributes}{rest}</part><part id='P2'>{attributes}{rest}</part></measure>"
        f"<measure number='2'><part id='P1'>{rest}</part></measure>"
        f"<measure number='3'><part id='P1'>{rest}</part><part id='P2'>{rest}</part></measure></score-timewise>"
    ).encode()
    assert [bar.label for bar in score_from_bytes(data, "test").part("P2").bars.info()] == ["1", "2", "3"]
    assert [bar.length for bar in cut(data, "2-3", of="P2").bars] == [4, 4]


def test_c25_a_barline_in_the_middle_of_a_bar() -> None:
    middle = "<barline location='middle'><bar-style>dotted</bar-style></barline>"
    excerpt = cut(bars_of("C5:4", f"C5:2 {middle} C5:2"), "2")
    assert [child.tag for child in bar_at(excerpt, 0)] == ["attributes", "note", "barline", "note"]


# C26 what stands in barlines


@pytest.mark.parametrize(
    "inner",
    [
        "<bar-style>light-light</bar-style>",
        "<bar-style>heavy-light</bar-style>",
        "<bar-style>dashed</bar-style>",
        "<bar-style>tick</bar-style>",
        "<bar-style>none</bar-style>",
        "<bar-style>regular</bar-style><fermata type='upright'/>",
        "<segno/>",
        "<coda/>",
    ],
)
def test_c26_barlines_of_every_style_are_kept(inner: str) -> None:
    data = bars_of("C5:4", f"C5:4 <barline location='right'>{inner}</barline>", "C5:4")
    (after,) = cut(data, "2").tree().iter("barline")
    (before,) = etree.fromstring(data).iter("barline")
    assert [(c.tag, c.text, dict(c.attrib)) for c in after] == [
        (c.tag, c.text, dict(c.attrib)) for c in before
    ]


def test_c26_segno_and_coda_as_directions_are_kept() -> None:
    data = bars_of("C5:4", f"{direction('<segno/>')} C5:4 {direction('<coda/>')}")
    tags = [d[0][0].tag for d in cut(data, "2").tree().iter("direction")]
    assert tags == ["segno", "coda"]
