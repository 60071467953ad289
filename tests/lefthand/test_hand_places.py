"""Where fingers and positions lie: typed tables of the trade.

Fingers of violin and viola: two violin pages of first fingers and patterns; of the cello: a cello positions page; of
the bass: a bass method's page of 1-2-4. Positions: the natural note under the first finger, worked out by letters.
"""

from __future__ import annotations

import pytest

from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.instruments.staff import parse_pitch
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.hand_places import places_of, stops_of

FIRST_POSITION = {
    "violin": ("D", {1: {"E4", "Eb4"}, 2: {"F4", "F#4"}, 3: {"G4", "G#4"}, 4: {"A4", "Ab4"}}),
    "viola": ("G", {1: {"A3", "Ab3"}, 2: {"B3", "Bb3"}, 3: {"C4", "C#4"}, 4: {"D4", "Db4"}}),
    "cello": ("D", {1: {"E3", "Eb3"}, 2: {"F3", "F#3"}, 3: {"F#3", "G3"}, 4: {"G3", "G#3"}}),
    "bass": ("G", {1: {"A3"}, 2: {"Bb3"}, 4: {"B3"}}),
}
"""String, and the notes of each finger in first position; the cello's with its extensions."""


@pytest.mark.parametrize("name", FIRST_POSITION)
def test_fingers_in_first_position(name: str) -> None:
    letter, fingers = FIRST_POSITION[name]
    player = INSTRUMENTS[name]
    string = next(index for index, open_ in enumerate(player.strings) if open_.step == letter)
    for finger, names in fingers.items():
        for note in names:
            stops = [stop for stop in stops_of(parse_pitch(note), player) if stop.string == string]
            assert finger in {stop.finger for stop in stops if stop.position == 1}, (finger, note)


@pytest.mark.parametrize(("note", "finger"), [("Ab3", 1), ("A3", 2), ("Bb3", 4)])
def test_half_position_of_the_bass(note: str, finger: int) -> None:
    found = {(stop.position, stop.finger) for stop in stops_of(parse_pitch(note), INSTRUMENTS["bass"])}
    assert (0, finger) in found


UNDER_FIRST_FINGER = {
    "violin": {1: "A3 E4 B4 F5", 2: "B3 F4 C5 G5", 3: "C4 G4 D5 A5", 4: "D4 A4 E5 B5", 5: "E4 B4 F5 C6",
               6: "F4 C5 G5 D6", 7: "G4 D5 A5 E6"},
    "viola": {1: "D3 A3 E4 B4", 2: "E3 B3 F4 C5", 3: "F3 C4 G4 D5", 4: "G3 D4 A4 E5", 5: "A3 E4 B4 F5",
              6: "B3 F4 C5 G5", 7: "C4 G4 D5 A5"},
    "cello": {1: "D2 A2 E3 B3", 2: "E2 B2 F3 C4", 3: "F2 C3 G3 D4", 4: "G2 D3 A3 E4"},
}  # fmt: skip
"""The note under the first finger on each string from the lowest, by position."""


@pytest.mark.parametrize("name", UNDER_FIRST_FINGER)
def test_positions_are_named_by_the_first_finger(name: str) -> None:
    player = INSTRUMENTS[name]
    for position, notes in UNDER_FIRST_FINGER[name].items():
        for string, note in enumerate(notes.split()):
            found = [stop for stop in stops_of(parse_pitch(note), player) if stop.string == string]
            plain = [stop for stop in found if stop.finger == 1 and not stop.extended and not stop.respelt]
            assert position in {stop.position for stop in plain}, (position, note)


BASS_POSITIONS = {"Ab3": 0, "A3": 1, "Bb3": 2, "C4": 3, "D4": 4, "Eb4": 5, "F4": 6, "G4": 7}
"""First finger on the G string, and the position by one common list; half positions count to the one below."""


@pytest.mark.parametrize("note", BASS_POSITIONS)
def test_positions_of_the_bass(note: str) -> None:
    found = stops_of(parse_pitch(note), INSTRUMENTS["bass"])
    assert BASS_POSITIONS[note] in {stop.position for stop in found if stop.string == 3 and stop.finger == 1}


@pytest.mark.parametrize(
    ("name", "low", "high", "playable"),
    [
        ("violin", "A3", "A4", True),  # an octave, first and fourth finger
        ("violin", "A3", "C5", False),  # a tenth is wider than the hand of the table
        ("violin", "G3", "B5", True),  # over an open string, however high
        ("cello", "C2", "E3", True),
        ("cello", "D3", "B3", True),
        ("bass", "G2", "D3", True),  # the open D and G below
        ("bass", "F2", "Eb3", False),
    ],
)
def test_double_stops_that_a_hand_can_play(name: str, low: str, high: str, playable: bool) -> None:
    pitches = (parse_pitch(low), parse_pitch(high))
    found = places_of(HandNote(pitches, (Given(), Given())), INSTRUMENTS[name])
    assert bool(found) == playable, found[:3]


def test_a_quarter_tone_is_had_where_its_neighbours_are_and_less_is_not() -> None:
    from fractions import Fraction

    from excerpts.musicxml.pitch import Pitch

    def place(alter: Fraction) -> object:
        note = HandNote((Pitch("B", 4, alter),), (Given(),))
        return finger_notes([note], INSTRUMENTS["violin"])[0].place

    assert place(Fraction(1, 2)) is not None
    assert place(Fraction(1, 3)) is None
