"""Chromatic scales, broken thirds, chords of sevenths and the round, against typed tables. Default tier."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import WarmupError
from excerpts.instruments.keys import Key, parse_key, parse_root
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups import plan_warmup, warmup
from excerpts.warmups.pattern_notes import (
    broken_thirds,
    chromatic,
    diminished_seventh,
    dominant_seventh,
    leads_to,
    scale_with_turn,
    seven_arpeggios,
)
from excerpts.warmups.warmup_names import warmup_line
from tests.instruments.test_keys import KEYS

ROOTS = ["C", "G", "D", "A", "E", "B", "F#", "C#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb", "G#", "D#", "A#"]


def named(pitches: Sequence[Pitch]) -> str:
    return " ".join(str(pitch) for pitch in pitches)


def test_a_chromatic_scale_has_sharps_going_up_and_flats_coming_down() -> None:
    """Worked by hand: the usual spelling without E-sharp, B-sharp, C-flat and F-flat."""
    up = "D4 D#4 E4 F4 F#4 G4 G#4 A4 A#4 B4 C5 C#5 D5"
    down = "Db5 C5 B4 Bb4 A4 Ab4 G4 Gb4 F4 E4 Eb4 D4"
    assert named(chromatic(parse_root("D"), 4, 1)) == f"{up} {down}"


def test_a_chromatic_scale_keeps_the_name_of_the_note_it_starts_on() -> None:
    names = [str(pitch)[:-1] for pitch in chromatic(parse_root("Eb"), 3, 2)]
    assert names.count("Eb") == 5
    assert "D#" not in names
    with pytest.raises(WarmupError, match="The usual name is B"):
        chromatic(parse_root("Cb"), 4, 1)


@given(st.sampled_from([root for root in ROOTS if root != "Cb"]), st.integers(1, 4))
def test_a_chromatic_scale_goes_by_semitones(root: str, octaves: int) -> None:
    notes = chromatic(parse_root(root), 3, octaves)
    assert len(notes) == 24 * octaves + 1
    steps = [after.midi - before.midi for before, after in pairwise(notes)]
    assert steps == [1] * (12 * octaves) + [-1] * (12 * octaves)
    assert not {"E#", "B#", "Cb", "Fb"} & {str(pitch)[:-1] for pitch in notes}


def test_broken_thirds_note_by_note() -> None:
    up = "G3 B3 A3 C4 B3 D4 C4 E4 D4 F#4 E4 G4 F#4 A4"
    down = "G4 E4 F#4 D4 E4 C4 D4 B3 C4 A3 B3 G3"
    assert named(broken_thirds(parse_key("G"), 3, 1)) == f"{up} {down}"


def test_a_melodic_minor_in_broken_thirds_comes_down_as_the_natural_one() -> None:
    notes = named(broken_thirds(parse_key("A minor"), 3, 1)).split()
    assert notes[8:14] == ["E4", "G#4", "F#4", "A4", "G#4", "B4"]
    assert notes[14:18] == ["A4", "F4", "G4", "E4"]


def test_the_turn_at_the_bottom() -> None:
    """Twenty-four notes before the top of three octaves: groups of 2, 3, 4, 6, 8 and 12 come out."""
    notes = scale_with_turn(parse_key("G"), 3, 3)
    assert named(notes[:6]) == "G3 B3 A3 G3 A3 B3"
    assert named(notes[-6:]) == "B3 A3 G3 A3 B3 G3"
    assert str(notes[24]) == "G6"
    assert len(notes) == 49
    assert max(pitch.midi for pitch in notes) == notes[24].midi


@pytest.mark.parametrize(
    ("root", "dominant", "diminished"),
    [
        ("G", "G3 B3 D4 F4 G4", "G3 Bb3 Db4 Fb4 G4"),
        ("C", "C4 E4 G4 Bb4 C5", "C4 Eb4 Gb4 A4 C5"),
        ("B", "B3 D#4 F#4 A4 B4", "B3 D4 F4 Ab4 B4"),
        ("Db", "Db4 F4 Ab4 Cb5 Db5", "Db4 E4 G4 Bb4 Db5"),
        ("Eb", "Eb4 G4 Bb4 Db5 Eb5", "Eb4 Gb4 A4 C5 Eb5"),
        ("G#", "G#3 B#3 D#4 F#4 G#4", "G#3 B3 D4 F4 G#4"),
    ],
)
def test_worked_chords_of_sevenths(root: str, dominant: str, diminished: str) -> None:
    """Stacked thirds; a diminished one without double flats, spelled as one of its inversions."""
    key, octave = parse_root(root), int(dominant[1 if dominant[1].isdigit() else 2])
    assert named(dominant_seventh(key, octave, 1)[:5]) == dominant
    assert named(diminished_seventh(key, octave, 1)[:5]) == diminished


@pytest.mark.parametrize("root", ROOTS)
def test_sevenths_agree_with_music21(root: str) -> None:
    """music21's own intervals from the root; the diminished seventh by its semitones, whatever its spelling."""
    import music21

    first = music21.pitch.Pitch(root.replace("b", "-") + "4")
    expected = [first.transpose(interval).nameWithOctave.replace("-", "b") for interval in ("M3", "P5", "m7")]
    assert [str(p) for p in dominant_seventh(parse_root(root), 4, 1)[1:4]] == expected
    diminished = diminished_seventh(parse_root(root), 4, 1)
    assert [int(p.midi) - int(first.ps) for p in diminished] == [0, 3, 6, 9, 12, 9, 6, 3, 0]
    assert all(abs(pitch.alter) < 2 for pitch in diminished)


@pytest.mark.parametrize(
    ("root", "key"), [("G", "C major"), ("D#", "G-sharp harmonic minor"), ("Bb", "E-flat major")]
)
def test_a_dominant_seventh_leads_to_a_key_and_has_its_signature(root: str, key: str) -> None:
    assert str(leads_to(parse_root(root))) == key
    assert plan_warmup(root, pattern="dominant-seventh").fifths == leads_to(parse_root(root)).fifths


CHORDS = {
    "1": "G3 B3 D4 G4 D4 B3",
    "2": "G3 Bb3 D4 G4 D4 Bb3",
    "3": "G3 C4 E4 G4 E4 C4",
    "4": "G3 C4 Eb4 G4 Eb4 C4",
    "5": "G3 B3 E4 G4 E4 B3",
    "6": "G3 B3 D4 F4 G4 F4 D4 B3",
    "7": "G3 Bb3 Db4 Fb4 G4 Fb4 Db4 Bb3",
}
"""From one note: its major and minor, both of the fourth, the minor of the sixth, and the two sevenths."""


def test_the_seven_chords_note_by_note() -> None:
    assert named(seven_arpeggios(parse_root("G"), 3, 1)) == " ".join([*CHORDS.values(), "G3"])


@given(st.permutations(list(CHORDS)))
def test_the_seven_chords_come_in_any_order_in_their_own_rhythm_and_bows(order: list[str]) -> None:
    plan = plan_warmup("G", pattern=f"seven-arpeggios:{'-'.join(order)}", octaves=1)
    notes = [pitch for (pitch,) in plan.notes]
    assert named(notes) == " ".join([*(CHORDS[number] for number in order), "G3"])
    lengths = plan.layouts[0].lengths
    for first, last in plan.bowing.slurs:
        assert sum(lengths[first : last + 1]) == 1
    assert sum(last - first + 1 for first, last in plan.bowing.slurs) == len(notes) - 1


@pytest.mark.parametrize("order", ["", "1-2-3", "1-2-3-4-5-6-6", "1-2-3-4-5-6-8", "a"])
def test_what_is_no_order_is_refused_with_the_numbers(order: str) -> None:
    with pytest.raises(WarmupError, match="is not an order of the seven chords") as refused:
        plan_warmup("G", pattern=f"seven-arpeggios:{order}")
    assert "5 the minor of the sixth" in (refused.value.hint or "")


def test_our_own_order_is_said_to_be_ours() -> None:
    assert "our own order" in warmup_line(warmup("G", pattern="seven-arpeggios"))
    assert "our own order" not in warmup_line(warmup("G", pattern="seven-arpeggios:2-1-5-3-4-7-6"))


@given(st.sampled_from(ROOTS), st.integers(1, 4))
def test_counts(root: str, octaves: int) -> None:
    key = parse_root(root)
    assert len(seven_arpeggios(key, 3, octaves)) == 46 * octaves + 1
    for run in (dominant_seventh, diminished_seventh):
        notes = run(key, 3, octaves)
        assert len(notes) == 8 * octaves + 1
        assert [note.midi for note in notes].count(max(note.midi for note in notes)) == 1


@given(st.sampled_from(KEYS), st.integers(1, 4))
def test_broken_thirds_count_and_stay_in_the_scale(key: Key, octaves: int) -> None:
    notes = broken_thirds(key, 3, octaves)
    assert len(notes) == 28 * octaves - 2
    assert [note for note in notes if note == key.tonic(3 + octaves)] == [key.tonic(3 + octaves)] * 2
    letters = [7 * note.octave + "CDEFGAB".index(note.step) for note in notes]
    assert {abs(after - before) for before, after in pairwise(letters)} == {1, 2}
