"""Slurs over equal pitches never look like ties, and a stated string holds (default tier)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import read_line
from excerpts.variants import vary
from excerpts.variants.spanning_marks import slurs
from tests.schema import schema_errors
from tests.variants.music import passage, pitches
from tests.variants.test_laws import passages

PARTED = {"tenuto", "staccato"}


def marks(made: Excerpt) -> list[str]:
    """The marks that part the notes of a slur, note by note: "-", "." or "o" for none."""
    names = [
        {mark.name for head in e.heads for mark in head.marks} for e in read_line(made).events if e.heads
    ]
    return ["-" if "tenuto" in name else "." if "staccato" in name else "o" for name in names]


def test_a_slur_over_one_pitch_has_dashes() -> None:
    source = passage("4/4", "(C5/1 D5) E5 F5")
    assert marks(vary(source, "one-pitch")) == ["-", "-", "o", "o"]


def test_dots_under_a_slur_are_enough() -> None:
    source = passage("4/4", "(C5/1. D5.) E5 F5")
    assert marks(vary(source, "one-pitch")) == [".", ".", "o", "o"]


def test_a_slur_over_one_open_string_has_dashes_and_one_across_strings_has_none() -> None:
    source = passage("4/4", "(C5/1 D5) (C5 A5)")
    made = vary(source, "open-strings:violin")
    assert (pitches(made), marks(made)) == (["A4", "A4", "A4", "E5"], ["-", "-", "o", "o"])


@pytest.mark.parametrize("variant", ["one-pitch", "open-strings:violin"])
@given(source=passages())
@settings(max_examples=15)
def test_no_slur_looks_like_a_tie(variant: str, source: Excerpt) -> None:
    """Two neighbours of one pitch in a slur each have a dash or a dot."""
    try:
        made = vary(source, variant)
    except VariantError:
        return
    assert schema_errors(made.xml) == []
    events = read_line(made).events
    for slur in slurs(events):
        inside = [event for event in events[slur.start : slur.stop + 1] if event.heads]
        for one, other in zip(inside, inside[1:], strict=False):
            if {str(head.pitch) for head in one.heads} & {str(head.pitch) for head in other.heads}:
                for event in (one, other):
                    assert PARTED & {mark.name for head in event.heads for mark in head.marks}


def with_technical(source: Excerpt, place: int, inside: str) -> Excerpt:
    """The passage with a technical mark at a note."""
    notes = source.xml.split(b"</note>")
    notes[place] += f"<notations><technical>{inside}</technical></notations>".encode()
    return replace(source, xml=b"</note>".join(notes))


def test_notes_stay_on_the_string_last_stated() -> None:
    source = passage("4/4", "C5/1 B4 A4 E5")
    stated = with_technical(source, 0, "<string>3</string>")
    assert (
        pitches(vary(source, "open-strings:violin")) == ["A4"] * 4
    )  # first position, the fourth finger last
    assert pitches(vary(stated, "open-strings:violin")) == ["D4"] * 4
    left = with_technical(stated, 2, "<fingering>0</fingering>")
    assert pitches(vary(left, "open-strings:violin")) == ["D4", "D4", "A4", "A4"]
