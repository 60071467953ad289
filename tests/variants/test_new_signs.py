"""Bow signs after a new slurring: strokes alternate to the signs that are kept (default tier)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import Event, read_line
from excerpts.variants import vary
from tests.variants.music import passage
from tests.variants.test_bowings import bows

OTHER = {"v": "^", "^": "v"}

Stroke = tuple[Fraction, str, bool]
"""Onset of its first note, its sign, and whether a silence of a beat lies before it."""


def played(made: Excerpt) -> list[Stroke]:
    """The strokes, by the slurs alone: a reading of its own."""
    found: list[Stroke] = []
    inside, end = False, Fraction(0)
    for event in read_line(made).events:
        if event.is_rest:
            continue
        edges = [mark.edge for head in event.heads for mark in head.marks if mark.name == "slur"]
        if not inside:
            found.append((event.onset, _sign(event), bool(found) and event.onset - end >= 1))
        inside = (inside or "start" in edges) and "stop" not in edges
        end = event.end
    return found


def _sign(event: Event) -> str:
    names = {mark.name for head in event.heads for mark in head.marks}
    return "v" if "down-bow" in names else "^" if "up-bow" in names else ""


def retakes(strokes: Sequence[Stroke], start: str) -> set[Fraction]:
    """The onsets where a sign tells the stroke that came before it."""
    found: set[Fraction] = set()
    stroke = start
    for onset, sign, fresh in strokes:
        if sign and not fresh and sign != stroke:
            found.add(onset)
        stroke = OTHER[sign or stroke]
    return found


def counted_back(strokes: Sequence[Stroke]) -> str:
    """The first stroke: counted back from the first sign before a silence, else down."""
    for place, (_, sign, fresh) in enumerate(strokes):
        if fresh:
            break
        if sign:
            return OTHER[sign] if place % 2 else sign
    return "v"


PAIRS = st.sampled_from(
    ["D4 E4", "D4v E4", "D4 E4^", "D4v E4v", "F4^ G4^", "(F4 G4)", "(F4v G4)", "(F4^ G4)", "A4 (B4", "C5) D5"]
)


def whole(pairs: Sequence[str], lengths: Sequence[str]) -> str:
    """The notes of some pairs with their lengths; slurs without their other end go."""
    found: list[str] = []
    for note, _ in zip(" ".join(pairs).split(), lengths, strict=False):
        if note.endswith(")") and not (found and found[-1].startswith("(")):
            note = note[:-1]
        found.append(note)
    closed = [
        note.lstrip("(") if not after.endswith(")") else note
        for note, after in zip(found, [*found[1:], ""], strict=True)
    ]
    return " ".join(
        re.sub(r"([A-G]\d)", rf"\1/{length}", note) for note, length in zip(closed, lengths, strict=True)
    )


METRES = {
    "2/4": (4, ("1", "1")),
    "3/4": (6, ("1", "1", "1")),
    "4/4": (8, ("1", "1", "1", "1")),
    "5/4": (10, ("1", "1", "1", "1", "1")),
    "6/8": (6, ("1", "1/2", "1", "1/2")),
    "7/8": (7, ("1", "1", "1", "1/2")),
    "9/8": (9, ("1", "1/2", "1", "1/2", "3/2")),
}
"""Quavers of a bar, and the lengths of another."""


@given(
    metre=st.sampled_from(sorted(METRES)),
    quavers=st.lists(PAIRS, min_size=5, max_size=5),
    others=st.lists(PAIRS, min_size=3, max_size=3),
    first=st.booleans(),
    variant=st.sampled_from(["separate", "slur:2", "slur:3", "slur:1-3", "slur:8", "hooked", "portato:4"]),
)
@settings(max_examples=60, deadline=None)
def test_strokes_alternate_to_the_kept_signs(
    metre: str, quavers: list[str], others: list[str], first: bool, variant: str
) -> None:
    """Read from the first sign on, down where none stands: only what the source takes again is taken again."""
    count, lengths = METRES[metre]
    bars = [whole(quavers, ["1/2"] * count), whole(others, lengths)]
    source = passage(metre, *(bars if first else bars[::-1]), box=(0, 1))
    try:
        made = vary(source, variant)
    except VariantError:
        return
    then, now = played(source), played(made)
    start = now[0][1] or "v"
    assert retakes(now, start) <= retakes(then, counted_back(then))


@pytest.mark.parametrize(
    ("bars", "variant", "expected"),
    [
        # a sign after the run stays true: the run starts up
        (["C4/1/2 D4 E4 F4 G4/1v A4"], "slur:4", "^...v."),
        (["C4/1/2 D4 E4 F4 G4/1v A4"], "slur", "....v."),
        (["(C4/1/2^ D4 E4) F4v G4/1^ A4"], "slur", "^...^."),
        # an upbeat leads to the stroke that the source has there
        (["r/3 (C4/1/2^ D4)", "E4/1/2v F4 G4 A4 B4/2"], "separate", "v......"),
        (["r/3 (C4/1/2v D4)", "E4/1/2^ F4 G4 A4 B4/2"], "separate", "^......"),
        # fewer notes have other strokes
        (["C4/1/2v D4 E4^ F4 G4/1v A4^"], "outline", "...."),
        # each note twice: strokes in twos
        (["C4/1/2 D4 E4 F4 G4 A4/1v B4/1/2"], "repeat:2", "..........v."),
        (["C4/1/2 D4 E4 F4 G4 A4/1^ B4/1/2"], "repeat:2", "^.........^."),
    ],
)
def test_the_first_stroke_changes_or_signs_go(bars: list[str], variant: str, expected: str) -> None:
    assert bows(vary(passage("4/4", *bars, box=(0, len(bars) - 1)), variant)) == expected
