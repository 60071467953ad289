"""Separate bows: slurs go, ties stay, signs that are still true stay (default tier)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.variants import vary
from tests.variants.music import lengths, passage, pitches


def bows(made: Excerpt) -> str:
    """The bow sign of each note: "v" down, "^" up, "." none."""
    signs = []
    for event in read_line(made).events:
        names = {mark.name for head in event.heads for mark in head.marks}
        if not event.is_rest:
            signs.append("v" if "down-bow" in names else "^" if "up-bow" in names else ".")
    return "".join(signs)


def test_slurs_go_and_ties_stay() -> None:
    made = vary(passage("4/4", "(C4/1/2 D4 E4 F4) (G4/2~", "~G4/1 A4) B4/2"), "separate")
    assert b"slur" not in made.xml
    assert lengths(made)[0] == "1/2 1/2 1/2 1/2 3"
    assert made.tree().find(".//tie") is not None
    assert {line.bar for line in made.report if line.what == "slur"} == {"1"}


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        # the first sign stays as printed; signs that only say what the slurs brought about go
        ("(C4/1/2v D4) E4^ F4v G4/2", "v...."),
        ("(C4/1/2^ D4) (E4v F4) G4/2", "^...."),
        # a retake (the same stroke twice) stays, unless separate strokes bring it about anyway
        ("C4/1v D4v E4 F4", "vv.."),
        ("(C4/1v D4) E4v F4", "v..."),
        # counted back from the first sign: that is no retake
        ("C4/1 D4 E4v F4", "...."),
        ("C4/1 (D4 E4) F4v", "...."),
        # after a silence the sign says how to start again
        ("C4/1v r D4v E4", "vv."),
        ("C4/1v D4 r E4^", "v.^"),
        # a short rest loses nothing
        ("C4/1/2v r D4^ r E4/1v F4", "v..."),
    ],
)
def test_bow_signs(source: str, expected: str) -> None:
    """Strokes alternate, a slur is one stroke, a repeated stroke is a retake: common practice."""
    assert bows(vary(passage("4/4", source), "separate")) == expected


def test_a_grace_note_stays_slurred_to_its_note() -> None:
    made = vary(passage("4/4", "C4/1 (g:E4/1/2 D4/1 E4) F4"), "separate")
    edges = [
        (str(event.heads[0].pitch), mark.edge)
        for event in read_line(made).events
        for head in event.heads
        for mark in head.marks
        if mark.name == "slur"
    ]
    assert edges == [("E4", "start"), ("D4", "stop")]
    assert pitches(made) == ["C4", "E4", "D4", "E4", "F4"]


def test_separate_twice_is_separate() -> None:
    once = vary(passage("4/4", "(C4/1/2v D4) E4^ F4v G4/2v"), "separate")
    assert vary(once, "separate").xml == once.xml


def test_dots_under_a_slur_stay() -> None:
    made = vary(passage("4/4", "(C4/1. D4. E4. F4.)"), "separate")
    assert len(list(made.tree().iter("staccato"))) == 4


@pytest.mark.parametrize(
    ("variant", "dots"), [("repeat", 2), ("repeat:3:stretched", 3), ("repeat:4:kept", 4)]
)
def test_a_repeated_note_has_its_accent_once(variant: str, dots: int) -> None:
    source = passage("4/4", "C4/1/2. D4 E4 F4 G4 A4 B4 C5")
    accented = replace(source, xml=source.xml.replace(b"<staccato/>", b"<accent/><staccato/>"))
    made = vary(accented, variant).xml
    assert (made.count(b"<accent"), made.count(b"<staccato")) == (1, dots)


def test_each_step_of_a_chain_shows_the_stroke_of_its_first_note() -> None:
    """Strokes alternate, a slur is one stroke: A falls in the down-bow that G began, B is up, C down."""
    source = passage("4/4", "C4/1/2v D4 E4 F4 (G4v A4) B4 C5")
    assert bows(vary(source, "backwards")).startswith("v^.v..v...")
    assert bows(vary(passage("4/4", "C4/1 D4 E4 F4"), "backwards")) == "." * 10
    window = bows(vary(source, "window:5"))
    assert [window[step * 5] for step in range(4)] == ["v", "^", "v", "^"]
