"""Where the box begins or ends in a tuplet: a rest completes it, and the other rests are plain (default tier)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.notes.time_span import is_binary
from excerpts.variants import vary
from tests.schema import schema_errors
from tests.variants.laws import unfilled
from tests.variants.music import passage

TIMES = ["2/4", "3/4", "4/4", "5/4", "6/4", "2/2", "3/2", "3/8", "5/8", "6/8", "7/8", "9/8", "12/8"]
SHORT = {"whole": "1", "half": "2", "quarter": "4", "eighth": "8", "16th": "16"}


def bars_of(made: Excerpt) -> list[list[etree._Element]]:
    return [list(measure.iter("note")) for measure in made.tree().iter("measure")]


def told(notes: list[etree._Element]) -> str:
    """Notes as "8 r4 | r2": values, rests with "r", and "[" and "]" where a tuplet begins and ends."""
    text = []
    for note in notes:
        edges = {tuplet.get("type") for tuplet in note.iter("tuplet")}
        name = ("r" if note.find("rest") is not None else "") + SHORT[note.findtext("type") or ""]
        name += "." * len(note.findall("dot"))
        text.append("[" * ("start" in edges) + name + "]" * ("stop" in edges))
    return " ".join(text)


@pytest.mark.parametrize(
    ("time", "landing", "expected"),
    [
        ("4/4", "C4/1/3 D4 E4 F4/1 G4/2", "[8 r4] r4 r2"),
        ("3/4", "C4/1/3 D4 E4 F4/2", "[8 r4] r4 r4"),
        ("4/4", "C4/2/3 D4/1/3 E4/1 F4/2", "[4 r2] r2"),
        ("2/4", "C4/2/3 D4 E4", "[4 r8] r4"),
        ("4/4", "C4/4/3 D4 E4", "[2 r4] r2"),
        ("4/4", "C4/1/6 D4 E4 F4 E4 D4 F4/3", "[16 r8] r8 r4 r2"),
        ("6/8", "C4/1/3 D4 E4 F4/1/2 G4/3/2", "[8 r4] r8 r4."),
        ("5/4", "C4/1/3 D4 E4 F4/4", "[8 r4] r4 r4 r2"),
    ],
)
def test_a_landing_in_a_tuplet_is_completed(time: str, landing: str, expected: str) -> None:
    beats, unit = map(int, time.split("/"))
    first = " ".join([f"C4/{Fraction(4, unit)}"] * beats)
    made = vary(passage(time, first, landing, box=(0, 0)), "separate")
    assert told(bars_of(made)[1]) == expected


def test_a_box_that_begins_in_a_triplet_has_plain_rests_before_it() -> None:
    source = passage("4/4", "C4/2 D4/1/3 E4 F4 G4/1", "C4/4", box=(0, 0), beats=(Fraction(7, 3), Fraction(4)))
    assert told(bars_of(vary(source, "separate"))[0]) == "r2 [r8 8 8] 4"


def tuplets(measure: etree._Element, divisions: Fraction) -> list[list[tuple[Fraction, bool]]]:
    """Length of each note of each tuplet of a bar, and whether it sounds; a printed bracket is one whole tuplet."""
    groups: list[list[tuple[Fraction, bool]]] = []
    whole = True
    for note in measure.iter("note"):
        if note.find("time-modification") is None:
            assert whole
            continue
        edges = {tuplet.get("type") for tuplet in note.iter("tuplet")}
        assert "start" not in edges or whole
        if whole:
            groups.append([])
        length = Fraction(note.findtext("duration") or "0") / divisions
        groups[-1].append((length, note.find("rest") is None))
        whole = is_binary(sum((size for size, _ in groups[-1]), Fraction(0)))
        assert "stop" not in edges or whole
    assert whole
    return groups


@st.composite
def landings(draw: st.DrawFn) -> Excerpt:
    """Two bars of any metre with triplets in both; the box begins and ends at any note of them."""
    time = draw(st.sampled_from(TIMES))
    beats, unit = map(int, time.split("/"))
    full = Fraction(4 * beats, unit)
    starts: list[list[Fraction]] = []
    bars: list[str] = []
    for _ in range(2):
        onset, tokens, onsets = Fraction(0), [], []
        while onset < full:
            fitting = [size for size in (Fraction(1, 2), Fraction(1)) if size <= full - onset]
            size = draw(st.sampled_from(fitting))
            on_time = onset % size == 0  # a triplet that begins between two beats is no custom
            parts = draw(st.sampled_from([[size], [size / 3] * 3])) if on_time else [size]
            for part in parts:
                onsets.append(onset)
                tokens.append(f"{draw(st.sampled_from(['C4', 'D4', 'G4']))}/{part}")
                onset += part
        bars.append(" ".join(tokens))
        starts.append(onsets)
    begin, end = draw(st.sampled_from(starts[0])), draw(st.sampled_from([*starts[1][1:], full]))
    return passage(time, *bars, box=(0, 1), beats=(begin, end))


@pytest.mark.parametrize("variant", ["separate", "as-written+separate", "add-a-beat", "add-a-note"])
@given(source=landings())
@settings(max_examples=12)
def test_tuplets_are_whole_wherever_the_box_ends(variant: str, source: Excerpt) -> None:
    """Each tuplet has two notes or more, one of them sounding, and ends where halving the beat reaches."""
    try:
        made = vary(source, variant)
    except VariantError:
        return
    assert schema_errors(made.xml) == []
    assert unfilled(read_line(made)) == []
    divisions = Fraction(made.tree().findtext(".//divisions") or "1")
    for measure in made.tree().iter("measure"):
        for group in tuplets(measure, divisions):
            assert len(group) > 1
            assert any(sounds for _, sounds in group)
            assert sum((length for length, _ in group), Fraction(0)) in {Fraction(1, 2), Fraction(1)}


def test_the_outline_of_a_box_that_ends_inside_a_triplet_has_no_tuplet_of_one_note() -> None:
    """The note on the beat ends where the triplet begins; the landing in the triplet has rests on both sides."""
    source = passage(
        "6/4", "C4/6", "C4/1 D4/1/6 E4 F4 G4/1/2 A4/4", box=(0, 1), beats=(Fraction(0), Fraction(7, 6))
    )
    assert told(bars_of(vary(source, "outline"))[1]) == "4 [r16 16 r16] r8 r4 r2."
