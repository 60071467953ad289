"""Slurs in groups, hooked bows and portato: common practice of string players (default tier)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.variants import vary
from excerpts.variants.spanning_marks import slurs
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches
from tests.variants.test_bowings import bows

RUN = "C4/1/4 D4 E4 F4 G4 A4 B4 C5 D5 C5 B4 A4 G4 F4 E4 D4"


def strokes(made: Excerpt) -> str:
    """The notes to each bow, like "1 3 4"; a note with a dot adds ".", with a dash "-"."""
    events = [event for event in read_line(made).events if not event.is_rest]
    found = slurs(tuple(events))
    told: list[str] = []
    for index, event in enumerate(events):
        names = {mark.name for mark in event.heads[0].marks}
        sign = ("." if "staccato" in names else "") + ("-" if "tenuto" in names else "")
        if any(slur.start < index <= slur.stop for slur in found):
            told[-1] += f"o{sign}"
        else:
            told.append(f"o{sign}")
    return " ".join(told)


@pytest.mark.parametrize(
    ("variant", "expected"),
    [
        ("slur", "oo oo oo oo oo oo oo oo o"),
        ("slur:4", "oooo oooo oooo oooo o"),
        ("slur:3", "ooo o ooo o ooo o ooo o o"),
        ("slur:6", "oooooo o o oooooo o o o"),
        ("slur:1-3", "o ooo o ooo o ooo o ooo o"),
        ("slur:3-1", "ooo o ooo o ooo o ooo o o"),
        ("slur:2-1-1", "oo o o oo o o oo o o oo o o o"),
        ("portato:4", "o-o-o-o- o-o-o-o- o-o-o-o- o-o-o-o- o"),
        ("hooked", "o.o. o.o. o.o. o.o. o.o. o.o. o.o. o.o. o"),
        ("long-short+hooked", "oo. oo. oo. oo. oo. oo. oo. oo. o"),
        ("short-long+hooked", "o.o o.o o.o o.o o.o o.o o.o o.o o"),
        ("slur:2+long-short", "oo oo oo oo oo oo oo oo o"),
    ],
)
@pytest.mark.parametrize("run", [RUN, "(" + RUN + ")", RUN.replace(" ", ". ")])
def test_strokes(variant: str, expected: str, run: str) -> None:
    source = passage("4/4", run, "C4/4", box=(0, 0))
    made = vary(source, variant)
    dots = "." in run and "slur" in variant  # notes that stay separate keep theirs
    assert (strokes(made).replace(".", "") if dots else strokes(made)) == expected
    assert pitches(made) == pitches(source)
    assert schema_errors(made.xml) == []


@given(
    notes=st.lists(
        st.sampled_from(["C4", "D4", "(E4", "F4)", "G4.", "r", "A4", "B4^", "C5v"]), min_size=7, max_size=7
    ),
    variant=st.sampled_from(["slur:2", "slur:3", "slur:1-2", "portato:2", "hooked"]),
)
@settings(max_examples=40, deadline=None)
def test_notes_and_times_stay_and_twice_is_once(notes: list[str], variant: str) -> None:
    source = passage("4/4", " ".join(["C4/1/2", *notes]), "C4/4", box=(0, 0))
    try:
        made = vary(source, variant)
    except VariantError:
        return
    assert pitches(made) == pitches(source)
    assert lengths(made) == lengths(source)
    assert schema_errors(made.xml) == []
    assert strokes(vary(made, variant)) == strokes(made)


def test_what_is_no_run_keeps_its_slurs() -> None:
    source = passage("4/4", "(C4/1 D4) (E4/1/2 F4 G4 A4)", "(B4/1 C5/1/2 D5 E5 F5 G5/1)", box=(0, 1))
    made = vary(source, "slur:2")
    assert strokes(made) == "oo oo oo o oo oo o"
    assert {(line.what, line.bar) for line in made.report if line.action == "dropped"} == {
        ("slur", "1"),
        ("slur", "2"),
    }


def test_a_printed_slur_is_replaced_whole() -> None:
    """What is left of it in front of the run and after it is no slur that anybody has written."""
    assert (
        strokes(vary(passage("4/4", "(C4/1 D4/1/2. E4 F4/1/4 G4 A4 B4 C5/1)"), "slur:4")) == "o o. o oooo o"
    )


def test_grace_notes_stay_with_their_note() -> None:
    source = passage("4/4", "(g:D4/1/2 C4/1/2 D4) E4 F4 (g:A4 G4/1/2) A4 B4 C5")
    made = vary(source, "slur:2")
    assert strokes(made) == "ooo oo ooo oo"
    assert strokes(vary(source, "slur:1-3")) == "oo ooo oo ooo"


@pytest.mark.parametrize(
    ("time", "text", "variant", "expected"),
    [
        ("4/4", "C4/1/2 D4 E4 F4 G4 A4 B4 C5", "slur", "........"),
        # the sign of the start stays, signs that only told what the old slurs brought about go
        ("4/4", "(C4/1/2^ D4) (E4v F4 G4) A4^ B4v C5", "slur", "^......."),
        # a retake that two to a bow do not bring about stays
        ("4/4", "C4/1/2v D4 E4 F4 G4^ A4 B4 C5", "slur", "v...^..."),
        ("4/4", "C4/1/2v D4 E4 F4 G4^ A4 B4 C5", "slur:4", "v......."),
        # inside a bow no sign makes sense
        ("4/4", "C4/1/2v D4v E4 F4 G4 A4 B4 C5", "slur:4", "v......."),
    ],
)
def test_bow_signs(time: str, text: str, variant: str, expected: str) -> None:
    assert bows(vary(passage(time, text), variant)) == expected


def test_an_upbeat_starts_up() -> None:
    source = passage("4/4", "r/3 C4/1/2 D4", "E4/1/2 F4 G4 A4 B4 C5 D5 E5", box=(0, 1))
    assert bows(vary(source, "slur")) == "^........."
    assert bows(vary(source, "slur:2-1")) == ".........."  # counted from a beat and not over the barline
    assert bows(vary(source, "slur:1-2")) == ".........."
    rest = passage("4/4", "C4/1/2 D4 E4 F4 r/1 G4/1/2 A4", "E4/1/2 F4 G4 A4 B4 C5 D5 E5", box=(0, 1))
    assert bows(vary(rest, "slur")) == "....^........."


@pytest.mark.parametrize(
    ("variant", "message"),
    [
        ("slur:8", r"slur:8 needs a run of at least 8 equal notes; bar 1: the longest run has 4"),
        ("portato:6", r"portato:6 needs a run of at least 6 equal notes"),
        ("slur:0-2", r"no bow has 0 notes"),
        ("slur:1", r"slurs nothing\. Write 'separate'"),
        ("slur:1-1", r"slurs nothing"),
        ("slur:x", r"'x' in 'slur:x' is not a number of notes to a bow"),
        ("slur:-2", r"not a number of notes to a bow"),
        ("slur:20-20", r"more than 24 notes"),
        ("portato:5", r"Choose from 2, 3, 4, 6, 8"),
        ("hooked:2", r"takes nothing after a colon"),
    ],
)
def test_what_does_not_fit_is_refused(variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        vary(passage("4/4", "C4/1/2 D4 E4 F4 G4/2"), variant)


@pytest.mark.parametrize(("text", "head"), [("B4+D5", 1), ("C4+E4", 0), ("A4+C5", 1), ("G4+B4", 0)])
def test_slurs_of_double_stops_stand_at_the_heads(text: str, head: int) -> None:
    """Treble clef, B4 in the middle: stems go down from it on, and the slur is on the highest note then."""
    made = vary(passage("2/4", f"{text}/1/2 {text} {text} {text}"), "slur:2")
    for event in read_line(made).events:
        assert [any(mark.name == "slur" for mark in one.marks) for one in event.heads] == [
            head == 0,
            head == 1,
        ]
