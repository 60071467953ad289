"""Note names and clefs. Default tier."""

from __future__ import annotations

import pytest

from excerpts.errors import InputError
from excerpts.instruments.staff import ALTO, BASS, TENOR, TREBLE, Clef, parse_pitch, staff_place


@pytest.mark.parametrize(
    ("clef", "sign"), [(TREBLE, "TrebleClef"), (ALTO, "AltoClef"), (TENOR, "TenorClef"), (BASS, "BassClef")]
)
def test_outer_lines_of_the_clefs_agree_with_music21(clef: Clef, sign: str) -> None:
    import music21

    reference = getattr(music21.clef, sign)()
    assert (clef.sign, clef.line) == (reference.sign, reference.line)
    bottom = music21.pitch.Pitch()
    bottom.diatonicNoteNum = reference.lowestLine
    assert str(clef.bottom) == bottom.nameWithOctave
    assert staff_place(clef.top) - staff_place(clef.bottom) == 8


@pytest.mark.parametrize(
    ("note", "lines"), [("F5", 0), ("G5", 0), ("A5", 1), ("C6", 2), ("E4", 0), ("C4", 1), ("G3", 2)]
)
def test_ledger_lines_in_the_treble_clef(note: str, lines: int) -> None:
    assert TREBLE.ledger_lines(parse_pitch(note)) == lines


@pytest.mark.parametrize(
    ("text", "midi"),
    [("A3", 57), ("Bb3", 58), ("b♭3", 58), ("F#4", 66), ("C4", 60), ("Cb4", 59), ("B#4", 72)],
)
def test_note_names(text: str, midi: int) -> None:
    """C4 is MIDI 60; Cb4 and B#4 keep their letter's octave number."""
    assert parse_pitch(text).midi == midi


@pytest.mark.parametrize("text", ["A", "H4", "A44x", "", "4A"])
def test_what_is_no_note_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is not a note"):
        parse_pitch(text)
