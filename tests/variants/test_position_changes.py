"""Where a page tells that the left hand changes its position: by fingers, strings and words (default tier)."""

from __future__ import annotations

import pytest

from excerpts.errors import VariantError
from excerpts.instruments.instrument import INSTRUMENTS, Instrument
from excerpts.notes import read_line
from excerpts.variants import vary
from excerpts.variants.passage import take_box
from excerpts.variants.position_changes import position_changes
from excerpts.words import Words
from tests.technique.test_drills import cut, fingered

VIOLIN, CELLO, BASS = (INSTRUMENTS[name] for name in ("violin", "cello", "bass"))


def said(words: str) -> str:
    """Words over the notes that follow."""
    text = words.replace(" ", "&#160;")
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def changes(player: Instrument, text: str) -> list[str]:
    """The notes around each change; words stand in braces, with hyphens for their spaces."""
    parts = [
        said(word[1:-1].replace("-", " ")) if word.startswith("{") else fingered(word)
        for word in text.split()
    ]
    line = take_box(cut(" ".join(parts)))
    names = [str(event.heads[0].pitch) if event.heads else "r" for event in line.events]
    return [f"{names[one]} {names[other]}" for one, other in position_changes(line, player)]


@pytest.mark.parametrize(
    ("player", "text", "expected"),
    [
        # one finger on the new note is enough: nobody writes down first position
        (VIOLIN, "B4 C#5 D5.1 E5.2", ["C#5 D5"]),
        (VIOLIN, "A5.3 B5.4 D6.4 C6.3", ["B5 D6"]),
        # up and back again
        (VIOLIN, "B4.1 D5.1 E5.2 B4.1", ["B4 D5", "E5 B4"]),
        # an open string between the two fingers
        (VIOLIN, "F#5.1 E5.0 A5.1 B5.2", ["E5 A5"]),
        # a low and a high second finger are one position, so are neighbouring strings at one place
        (VIOLIN, "F5.1 F#5.1 G5.2 G#5.2", []),
        (VIOLIN, "D5.1 A5.1 D5.1 A5.1", []),
        # one finger that goes on to the next note: no other place of the hand tells it
        (VIOLIN, "F#5.1 G5.1 A5.2", ["F#5 G5"]),
        # string numbers without fingers
        (VIOLIN, "D5./2 E5./3 F5./3 E5./3", ["D5 E5"]),
        (CELLO, "A3./1 D4./2 E4./2 F4./2", ["A3 D4"]),
        # "sul G": the string is told for all that follows
        (VIOLIN, "{sul-G} A3 C4 G4 E4", ["C4 G4"]),
        (VIOLIN, "{IV-corda} A3 C4 G4 {ord.} E5", ["C4 G4"]),
        (VIOLIN, "A3 C4 G4 E4", []),
        # words for a position
        (VIOLIN, "A4 B4 {3rd-pos.} D5 E5", ["B4 D5"]),
        (VIOLIN, "{III.-Lage} D5 E5 F5 G5", []),
        (VIOLIN, "{III-pos.} D5 E5 {I-pos.} B4 C5", ["E5 B4"]),
        (BASS, "{II-pos.} B3 C4 {III-pos.} D4 C4", ["C4 D4"]),
        # height alone does not tell at which note the hand moves
        (VIOLIN, "E5 A5 D6 F6", []),
    ],
)
def test_where_the_page_tells_of_a_shift(player: Instrument, text: str, expected: list[str]) -> None:
    assert changes(player, text) == expected


def test_a_pause_on_the_note_before_by_string_and_word() -> None:
    made = vary(cut(f"{said('sul G')} A3:1 C4:1 G4:1 E4:1"), "stop-before-shift:violin")
    paused = [any(m.name == "fermata" for m in e.heads[0].marks) for e in read_line(made).events]
    assert paused == [False, True, False, False]


def test_a_box_that_tells_of_none() -> None:
    with pytest.raises(VariantError, match="no fingering, string number or position in bar 1 shows a change"):
        vary(cut("A4:1 B4:1 C5:1 D5:1"), "stop-before-shift:violin")


def test_without_fingers_the_pause_is_where_the_hand_would_move_and_is_called_a_guess() -> None:
    guessed = vary(cut("F#5:1 G5:1 A5:1 B5:1", "C#6:1 D6:1 E6:1 F#6:1"), "stop-before-shift")
    assert guessed.xml.count(b"<fermata") >= 1
    assert b">shifts guessed<" in guessed.xml
    told = vary(cut(fingered("B4.1 C#5.2 D5.1 E5.2")), "stop-before-shift")
    assert b"guessed" not in told.xml
    with pytest.raises(VariantError, match="and its notes ask for none"):
        vary(cut("D4:1 E4:1 F#4:1 G4:1"), "stop-before-shift")


def test_the_guess_is_told_in_the_players_language() -> None:
    music = cut("F#5:1 G5:1 A5:1 B5:1", "C#6:1 D6:1 E6:1 F#6:1")
    assert "Lagenwechsel vermutet" in vary(music, "stop-before-shift", words=Words("de")).xml.decode()
