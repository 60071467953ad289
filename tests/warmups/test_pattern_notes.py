"""The notes of scales and arpeggios against tables and an independent library. Default tier."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.instruments.keys import Key, parse_key
from excerpts.warmups.pattern_notes import arpeggio, scale
from tests.instruments.test_keys import KEYS, MODAL

# Worked scales by the textbook rule (one letter a degree; harmonic minor raises 7; melodic raises 6 and 7
# going up and takes both back coming down: the music dictionary at dev-dictionary.onmusic.org, entry 2133),
# written pitch, worked out by hand and checked against a general music library.
# Each line: key, octave, octaves, up, down ("" = the same backwards).
WORKED = [
    ("G", 3, 2, "G3 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5", ""),
    ("Ab", 3, 1, "Ab3 Bb3 C4 Db4 Eb4 F4 G4 Ab4", ""),
    ("F#", 4, 1, "F#4 G#4 A#4 B4 C#5 D#5 E#5 F#5", ""),
    ("Gb", 3, 1, "Gb3 Ab3 Bb3 Cb4 Db4 Eb4 F4 Gb4", ""),
    ("g harmonic minor", 3, 1, "G3 A3 Bb3 C4 D4 Eb4 F#4 G4", ""),
    ("g minor", 3, 1, "G3 A3 Bb3 C4 D4 E4 F#4 G4", "G4 F4 Eb4 D4 C4 Bb3 A3 G3"),
    ("c minor", 3, 1, "C3 D3 Eb3 F3 G3 A3 B3 C4", "C4 Bb3 Ab3 G3 F3 Eb3 D3 C3"),
    ("g# harmonic minor", 3, 1, "G#3 A#3 B3 C#4 D#4 E4 F##4 G#4", ""),
    ("d natural minor", 2, 2, "D2 E2 F2 G2 A2 Bb2 C3 D3 E3 F3 G3 A3 Bb3 C4 D4", ""),
    ("e minor", 2, 1, "E2 F#2 G2 A2 B2 C#3 D#3 E3", "E3 D3 C3 B2 A2 G2 F#2 E2"),
    ("bb harmonic minor", 3, 1, "Bb3 C4 Db4 Eb4 F4 Gb4 A4 Bb4", ""),
    ("f# minor", 3, 1, "F#3 G#3 A3 B3 C#4 D#4 E#4 F#4", "F#4 E4 D4 C#4 B3 A3 G#3 F#3"),
    ("C#", 4, 1, "C#4 D#4 E#4 F#4 G#4 A#4 B#4 C#5", ""),
]


@pytest.mark.parametrize(("key", "octave", "octaves", "up", "down"), WORKED, ids=[row[0] for row in WORKED])
def test_worked_scales(key: str, octave: int, octaves: int, up: str, down: str) -> None:
    rising = up.split()
    falling = down.split() or rising[::-1]
    assert [str(pitch) for pitch in scale(parse_key(key), octave, octaves)] == rising + falling[1:]


def test_octave_numbers_follow_the_letter() -> None:
    """Cb4 is MIDI 59 and B#4 is MIDI 72: the number changes between B and C, whatever the accidental."""
    assert next(p for p in scale(parse_key("Gb"), 3, 1) if str(p) == "Cb4").midi == 59
    assert next(p for p in scale(parse_key("C#"), 4, 1) if str(p) == "B#4").midi == 72


@pytest.mark.parametrize(
    ("key", "notes"),
    [
        ("C", "C4 E4 G4 C5 G4 E4 C4"),
        ("Eb", "Eb4 G4 Bb4 Eb5 Bb4 G4 Eb4"),
        ("c minor", "C4 Eb4 G4 C5 G4 Eb4 C4"),
        ("c harmonic minor", "C4 Eb4 G4 C5 G4 Eb4 C4"),
        ("d# natural minor", "D#4 F#4 A#4 D#5 A#4 F#4 D#4"),
    ],
)
def test_worked_arpeggios(key: str, notes: str) -> None:
    """Triads by thirds; the minor ones are alike in the three minors."""
    assert [str(pitch) for pitch in arpeggio(parse_key(key), 4, 1)] == notes.split()


@pytest.mark.parametrize("key", KEYS, ids=str)
def test_every_scale_agrees_with_music21(key: Key) -> None:
    import music21

    kinds = {
        "major": "MajorScale",
        "natural minor": "MinorScale",
        "harmonic minor": "HarmonicMinorScale",
        "melodic minor": "MelodicMinorScale",
    }
    tonic = key.step + {-1: "-", 0: "", 1: "#"}[key.alter]
    reference = getattr(music21.scale, kinds[key.mode])(tonic)
    bottom, top = f"{tonic}3", f"{tonic}5"
    up = reference.getPitches(bottom, top, direction=music21.scale.Direction.ASCENDING)
    down = reference.getPitches(bottom, top, direction=music21.scale.Direction.DESCENDING)
    if down[0].ps < down[-1].ps:
        down = down[::-1]
    expected = [pitch.nameWithOctave.replace("-", "b") for pitch in [*up, *down[1:]]]
    assert [str(pitch) for pitch in scale(key, 3, 2)] == expected


@pytest.mark.parametrize("key", MODAL[::4], ids=str)
def test_the_church_modes_agree_with_music21(key: Key) -> None:
    import music21

    tonic = key.step + {-1: "-", 0: "", 1: "#"}[key.alter]
    reference = getattr(music21.scale, f"{key.mode.capitalize()}Scale")(tonic)
    expected = [
        pitch.nameWithOctave.replace("-", "b") for pitch in reference.getPitches(f"{tonic}3", f"{tonic}5")
    ]
    assert [str(pitch) for pitch in scale(key, 3, 2)][:15] == expected


@given(st.sampled_from(KEYS), st.integers(1, 4), st.integers(1, 4))
def test_counts_and_the_top_once(key: Key, octave: int, octaves: int) -> None:
    """14n + 1 notes in a scale and 6n + 1 in an arpeggio, up and down with the top note once."""
    for notes, count in ((scale(key, octave, octaves), 14), (arpeggio(key, octave, octaves), 6)):
        assert len(notes) == count * octaves + 1
        midi = [pitch.midi for pitch in notes]
        assert midi.count(max(midi)) == 1
        assert midi[0] == midi[-1] == min(midi)
        assert max(midi) - min(midi) == 12 * octaves
        assert midi.index(max(midi)) == len(notes) // 2


@given(st.sampled_from(KEYS), st.integers(1, 3))
def test_an_arpeggio_is_in_its_scale(key: Key, octaves: int) -> None:
    assert set(arpeggio(key, 3, octaves)) <= set(scale(key, 3, octaves))
