"""What a teacher's words at a passage mean."""

from __future__ import annotations

from typing import get_args

import pytest

from excerpts.score.marked_words import FAULTS, Meaning, is_for_playing, read_words
from excerpts.weekfile.item_values import FaultName


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("33-35", "33-35"),
        ("33–35", "33-35"),
        ("bars 33–35", "33-35"),
        ("Bar 33", "33"),
        ("b. 33", "33"),
        ("mm. 33-35", "33-35"),
        ("m.33", "33"),
        ("measures 33 to 35", "33-35"),
        ("Takt 33–35", "33-35"),
        ("Takte 33 bis 35", "33-35"),
        ("T. 33", "33"),
        ("@3-@5", "@3-@5"),
        ("12:3-16:1.5", "12:3-16:1.5"),
        ("bar 12a", "12a"),
        ("C-D", "C-D"),
        ("C+2", "C+2"),
    ],
)
def test_addresses(text: str, address: str) -> None:
    meaning = read_words(text)
    assert meaning is not None
    assert (meaning.address, meaning.why, meaning.note) == (address, (), "")


@pytest.mark.parametrize(
    "text",
    ["pizz.", "A", "Solo", "1. Satz", "3rd time", "2 soli", "a2", "33, 35", "33/34", "bars 33, 35", "33ff",
     "Shift early", "box office", "practise mute", "I", "", "12 Takte Pause", "Var. 2"],
)  # fmt: skip
def test_what_names_no_passage(text: str) -> None:
    assert read_words(text) is None


@pytest.mark.parametrize(
    ("text", "meaning"),
    [
        ("shift", Meaning(why=("shift",))),
        ("Shift!", Meaning(why=("shift",))),
        ("String crossing and tone", Meaning(why=("crossing", "tone"))),
        ("Rhythmus, Bogeneinteilung", Meaning(why=("rhythm", "bow-distribution"))),
        ("ungleichmäßig", Meaning(why=("uneven",))),
        ("shift: land softly", Meaning(why=("shift",), note="land softly")),
        ("box", Meaning()),
        ("box: thumb first", Meaning(note="thumb first")),
        ("practise: shift", Meaning(why=("shift",))),
        ("12-16 from memory", Meaning("12-16", ("memory",))),
        ("12-16 shift", Meaning("12-16", ("shift",))),
        ("12-16: tone: long bows", Meaning("12-16", ("tone",), "long bows")),
        ("bars 12–16 long bows", Meaning("12-16", note="long bows")),
        ("12", Meaning("12", alone=True)),
        ("bo\u200bx", Meaning()),
    ],
)
def test_faults_notes_and_plain_boxes(text: str, meaning: Meaning) -> None:
    assert read_words(text) == meaning


def test_every_fault_of_a_week_file_has_its_words() -> None:
    assert set(FAULTS.values()) == set(get_args(FaultName))
    assert all(FAULTS[fault] == fault for fault in get_args(FaultName))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("sul G", True),
        ("II", True),
        ("restez", True),
        ("poco rit.", True),
        ("dolce", False),
        ("shift", False),
    ],
)
def test_words_for_playing(text: str, expected: bool) -> None:
    assert is_for_playing(text) is expected
