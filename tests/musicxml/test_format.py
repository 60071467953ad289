"""The names of pitches: one owner, whatever way a file writes the alteration."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from excerpts.musicxml.format import name_of_pitch, number_in
from excerpts.notes.model import Pitch


def _note(step: str, alter: str, octave: str) -> etree._Element:
    altered = f"<alter>{alter}</alter>" if alter else ""
    return etree.fromstring(
        f"<note><pitch><step>{step}</step>{altered}<octave>{octave}</octave></pitch></note>"
    )


@pytest.mark.parametrize(
    ("alter", "name"),
    [
        ("", "B4"),
        ("0", "B4"),
        ("-0.0", "B4"),
        ("-1", "Bb4"),
        ("-1.0", "Bb4"),
        (" -1. ", "Bb4"),
        ("+1.00", "B#4"),
        ("2.0", "B##4"),
        ("-2", "Bbb4"),
        ("0.5", "B(1/2)4"),
        ("-3", "B(-3)4"),
        ("nonsense", "B4"),
    ],
)
def test_a_pitch_has_one_name_however_its_alteration_is_written(alter: str, name: str) -> None:
    assert name_of_pitch(_note("B", alter, "4")) == name
    assert str(Pitch("B", 4, number_in(alter) or Fraction(0))) == name


def test_a_rest_and_an_unpitched_note_have_no_name() -> None:
    assert name_of_pitch(etree.fromstring("<note><rest/></note>")) == ""
    assert name_of_pitch(etree.fromstring("<note><unpitched/></note>")) == ""
