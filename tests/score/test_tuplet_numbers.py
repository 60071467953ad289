"""Numbers of tuplets that a source prints once are printed again on the first group of a cut (default tier)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from tests.corpus.compare import Source
from tests.corpus.reading import document
from tests.music import bar, bars_of
from tests.schema import schema_errors
from tests.score.cutting import cut, said
from tests.score.random_scores import make_score

HIDDEN = "<tuplet type='start' bracket='no' show-number='none'/>"
SHOWN = "<tuplet type='start' bracket='no'/>"
STOP = "<tuplet type='stop'/>"
TRIPLETS = "C#5:1/3 D5:1/3 E5:1/3"


def group(text: str, start: str = "") -> str:
    """Notes as XML under one beam, with a tuplet that starts so."""
    notes = bar(text).split("</note>")[:-1]
    made = []
    for place, note in enumerate(notes):
        last = place == len(notes) - 1
        beam = "begin" if not place else "end" if last else "continue"
        marks = start if not place else STOP if last and start else ""
        notations = f"<notations>{marks}</notations>" if marks else ""
        made.append(f"{note}<beam number='1'>{beam}</beam>{notations}</note>")
    return "".join(made)


def bars(first: str, other: str, *more: str) -> bytes:
    """A bar of four groups of which the first is numbered, one of four others, a plain one, and more."""
    return bars_of(group(TRIPLETS, SHOWN) + 3 * first, 4 * other, "C5:4", *more)


def numbers(excerpt: Excerpt) -> list[tuple[int, int, str | None]]:
    """Bar, place among its notes, and bracket of each tuplet that prints its number."""
    return [
        (index, measure.findall("note").index(note), tuplet.get("bracket"))
        for index, measure in enumerate(excerpt.tree().findall("part/measure"))
        for note in measure.findall("note")
        for tuplet in note.iterfind("notations/tuplet[@type='start']")
        if tuplet.get("show-number") != "none"
    ]


def agreed(data: bytes, excerpt: Excerpt, first: int, last: int) -> bool:
    """The second reader finds nothing wrong."""
    return Source(document(data)).part(0).differences(excerpt, first, last) == []


@pytest.mark.parametrize("later", ["", HIDDEN])
def test_the_number_is_printed_again_on_the_first_group_only(later: str) -> None:
    plain = group(TRIPLETS, later)
    data = bars(plain, plain)
    made = cut(data, "2")
    assert numbers(made) == [(0, 0, "no")]
    assert "restated triplet number in bar 2: 3, from bar 1" in said(made)
    assert agreed(data, made, 1, 1)
    assert cut(made.xml, "2").xml == made.xml


@pytest.mark.parametrize("later", ["", HIDDEN])
def test_nothing_is_said_twice(later: str) -> None:
    plain = group(TRIPLETS, later)
    whole = cut(bars(plain, plain), "1-2")
    assert numbers(whole) == [(0, 0, "no")]
    assert not [line for line in said(whole) if "number" in line]
    assert numbers(cut(bars(plain, plain), "2", context=1)) == [(0, 0, "no")]


def test_notes_without_one_beam_get_a_bracket() -> None:
    plain = group(TRIPLETS)
    quarters = "C5:2/3 D5:2/3 E5:2/3 F5:2"
    made = cut(bars(plain, plain, quarters), "4")
    assert numbers(made) == [(0, 0, "yes")]
    mixed = cut(bars(plain, plain, "C5:2/3 D5:1/3 E5:3"), "4")
    assert numbers(mixed) == [(0, 0, "yes")]
    assert [
        place
        for place, note in enumerate(mixed.tree().iter("note"))
        if note.find(".//tuplet[@type='stop']") is not None
    ] == [1]


def test_each_ratio_has_its_number() -> None:
    """A quintuplet that is marked is left as it is, and tells nothing of the triplets behind it."""
    five = "<actual-notes>5</actual-notes><normal-notes>4</normal-notes>"
    three = "<actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    quintuplet = group("C5:1/3 D5:1/3 E5:1/3 F5:1/3 G5:1/3", SHOWN).replace(three, five)
    quintuplet = quintuplet.replace("<type>eighth", "<type>16th").replace(
        "<duration>8</duration>", "<duration>4.8</duration>"
    )
    plain = group(TRIPLETS)
    made = cut(bars(plain, plain, quintuplet + 3 * plain), "4")
    assert numbers(made) == [(0, 0, "no"), (0, 5, "no")]


def test_a_number_that_the_source_prints_nowhere_is_told_as_such() -> None:
    data = bars_of(4 * group(TRIPLETS), 4 * group(TRIPLETS))
    made = cut(data, "2")
    assert numbers(made) == [(0, 0, "no")]
    assert "repaired triplet number in bar 2: 3, which the source prints nowhere before" in said(made)
    assert agreed(data, made, 1, 1)


def test_a_number_in_one_hand_serves_both() -> None:
    low = "<backup><duration>96</duration></backup>" + (4 * group(TRIPLETS)).replace("<voice>1", "<voice>2")
    data = bars_of(4 * group(TRIPLETS, SHOWN) + low)
    assert cut(data, "1").report == ()


def test_tremolos_of_two_notes_and_hidden_notes_are_no_tuplets() -> None:
    ratio = (
        "<time-modification><actual-notes>2</actual-notes><normal-notes>1</normal-notes></time-modification>"
    )
    mark = "<notations><ornaments><tremolo type='{}'>3</tremolo></ornaments></notations></note>"
    pair = "".join(
        bar("C5:1").replace("quarter</type>", f"half</type>{ratio}").replace("</note>", mark.format(kind))
        for kind in ("start", "stop")
    )
    assert numbers(cut(bars_of(f"{pair} C5:2"), "1")) == []
    hidden = group(TRIPLETS).replace("<note>", "<note print-object='no'>")
    assert numbers(cut(bars_of(4 * hidden), "1")) == []


def test_the_second_reader_sees_a_number_that_is_missing() -> None:
    plain = group(TRIPLETS)
    data = bars(plain, plain)
    made = cut(data, "2")
    tree = made.tree()
    etree.strip_elements(tree, "notations")
    wrong = Source(document(data)).part(0).differences(replace(made, xml=etree.tostring(tree)), 1, 1)
    assert wrong == ["a tuplet of 3 in bar @1 has no number, and is the first"]


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(
    features=st.frozensets(
        st.sampled_from(("voices", "staves", "rests", "chords", "graces", "ties", "pickup"))
    ),
    seed=st.integers(0, 10_000),
    first=st.integers(0, 4),
)
def test_cuts_of_random_scores_whose_numbers_are_printed_once(
    features: frozenset[str], seed: int, first: int
) -> None:
    data = make_score(seed, 5, features | {"triplets", "numbers once"})
    part = score_from_bytes(data, "random").part("#1")
    excerpt = part.passage(f"@{first + 1}-@{first + 1}").cut(0)
    assert schema_errors(excerpt.xml) == []
    assert agreed(data, excerpt, first, first)
    assert score_from_bytes(excerpt.xml, "again").part().passage("@1-@1").cut(0).xml == excerpt.xml
