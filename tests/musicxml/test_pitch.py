"""The names of pitches: one owner, whatever way a file writes the alteration."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from excerpts.musicxml.format import number_in
from excerpts.musicxml.pitch import Pitch, key_alterations, midi_of, name_of_pitch, pitch_of


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


@pytest.mark.parametrize(("step", "octave"), [("H", "4"), ("B", "4.5"), ("B", "four"), ("", "4")])
def test_a_pitch_that_cannot_be_read_is_none(step: str, octave: str) -> None:
    note = _note(step, "", octave)
    assert pitch_of(note) is None
    assert (name_of_pitch(note), midi_of(note)) == ("", None)


def test_enharmonic_spellings_have_one_midi_number() -> None:
    assert (
        midi_of(_note("C", "1", "4"))
        == midi_of(_note("D", "-1.0", "4"))
        == Pitch("B", 3, Fraction(2)).midi
        == 61
    )


@pytest.mark.parametrize(
    ("key", "alterations"),
    [
        ("<fifths>2</fifths>", {"F": 1, "C": 1}),
        ("<fifths>-1</fifths>", {"B": -1}),
        ("<fifths>0</fifths>", {}),
        ("<fifths>8</fifths>", {"F": 2, "C": 1, "G": 1, "D": 1, "A": 1, "E": 1, "B": 1}),
        ("<fifths>nonsense</fifths>", {}),
        ("<key-step>B</key-step><key-alter>-0.5</key-alter>", {"B": Fraction(-1, 2)}),
    ],
)
def test_a_key_says_how_it_alters_each_letter(key: str, alterations: dict[str, int]) -> None:
    assert key_alterations(etree.fromstring(f"<key>{key}</key>")) == alterations
