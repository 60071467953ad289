"""What the left hand is told: marks, words, ties, grace notes, harmonics, tempo; and what it cannot do."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from excerpts.errors import InputError
from excerpts.instruments.instrument import THUMB
from excerpts.lefthand.fingering import finger_notes, finger_part
from excerpts.lefthand.path import Wishes
from excerpts.lefthand.read_part import read_part
from excerpts.score import score_from_bytes
from tests.lefthand.hands import reading, told
from tests.music import FIRST, part, score


def technical(inside: str) -> str:
    return f"[<notations><technical>{inside}</technical></notations>]"


def words(text: str) -> str:
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


def proposed(*bars: str, name: str = "Violin", marks: tuple[str, ...] = ()) -> str:
    read = reading(*bars, name=name, marks=marks)
    return told(finger_notes(read.notes, read.player), read.player.name)


def test_rows_are_those_of_the_contract() -> None:
    read = reading("D4:1 F#4+A4:1 r:1 C#5:1", "G3:4")
    rows = [row.as_json() for row in finger_part(read).rows()]
    assert [list(row) for row in rows] == [
        ["bar", "place", "onset", "pitch", "string", "position", "finger", "sure"]
    ] * 5
    assert [(row["bar"], row["place"], row["onset"], row["pitch"]) for row in rows] == [
        ("1", 1, "0", "D4"), ("1", 1, "1", "F#4"), ("1", 1, "1", "A4"), ("1", 1, "3", "C#5"), ("2", 2, "0", "G3"),
    ]  # fmt: skip
    assert (rows[-1]["string"], rows[-1]["finger"]) == (4, 0)
    json.dumps(rows)


def test_tied_notes_have_one_row_and_grace_notes_their_own() -> None:
    tie, end = '<notations><tied type="start"/></notations>', '<notations><tied type="stop"/></notations>'
    grace = "<note><grace/><pitch><step>E</step><octave>4</octave></pitch><voice>1</voice><type>eighth</type></note>"
    read = reading(f"A4:2 {grace} D4:2[{tie}]", f"D4:4[{end}]")
    assert [(row.bar, row.pitch, row.grace) for row in finger_part(read).rows()] == [
        ("1", "A4", False), ("1", "E4", True), ("1", "D4", False),
    ]  # fmt: skip


def test_one_tied_note_of_a_chord_is_not_set_down_again() -> None:
    read = reading(
        "<note><pitch><step>D</step><octave>4</octave></pitch><duration>48</duration>"
        '<tie type="start"/><voice>1</voice><type>half</type><notations><tied type="start"/></notations></note>'
        "<note><chord/><pitch><step>A</step><octave>4</octave></pitch><duration>48</duration><voice>1</voice>"
        "<type>half</type></note>"
        "<note><pitch><step>D</step><octave>4</octave></pitch><duration>48</duration>"
        '<tie type="stop"/><voice>1</voice><type>half</type><notations><tied type="stop"/></notations></note>'
        "<note><chord/><pitch><step>B</step><octave>4</octave></pitch><duration>48</duration><voice>1</voice>"
        "<type>half</type></note>"
    )
    assert [note.key for note in read.notes] == [(62, 69), (71,)]


def test_printed_fingers_and_strings_are_kept() -> None:
    assert proposed(f"A4:1{technical('<fingering>4</fingering>')} B4:1 C#5:1 D5:1").split()[0] == "3:4"
    assert proposed(f"D5:1{technical('<string>3</string>')} E5:1 r:2").split()[0][0] == "3"
    assert proposed(f"A4:1{technical('<open-string/>')} B4:1 r:2").split()[0] == "2:0"


def test_the_teachers_marks_come_before_what_is_printed() -> None:
    music = f"A4:1{technical('<fingering>4</fingering>')} B4:1 C#5:1 D5:1"
    assert proposed(music, marks=("1:1 finger 0",)).split()[0] == "2:0"


def test_sul_g_holds_until_it_is_taken_back() -> None:
    found = proposed(
        f"{words('sul G')} D4:1 E4:1 F#4:1 G4:1", f"{words('ord.')} E5:1 D5:1 C#5:1 B4:1"
    ).split()
    assert {one[0] for one in found[:4]} == {"4"}
    assert "4" not in {one[0] for one in found[4:]}


def test_sul_g_is_over_after_eight_bars() -> None:
    found = proposed(f"{words('sul G')} D4:4", *["A4:4"] * 12).split()
    assert found[1][0] == "4"
    assert found[-1][0] != "4"


def test_a_numeral_is_for_its_note_and_a_position_for_the_hand() -> None:
    assert proposed(f"{words('III')} D5:1 E5:1 F#5:1 G5:1").split()[0][0] == "3"
    read = reading(f"{words('3rd pos.')} D5:1 E5:1 F#5:1 G5:1")
    assert finger_part(read).rows()[0].position == 3


def test_natural_and_artificial_harmonics() -> None:
    ring = technical("<harmonic><natural/></harmonic>")
    octave = reading(f"D5:2 E6:2{ring}").notes[1]
    assert octave.given[0].harmonic == "natural"
    diamond = (
        "<note><pitch><step>A</step><octave>3</octave></pitch><duration>96</duration><voice>1</voice></note>"
        "<note><chord/><pitch><step>D</step><octave>4</octave></pitch><duration>96</duration><voice>1</voice>"
        "<notehead>diamond</notehead><notations><technical><harmonic><artificial/></harmonic></technical></notations>"
        "</note>"
    )
    assert proposed(diamond) == "4:1+4:4"


def test_a_ring_over_a_high_note_of_the_cello_is_a_harmonic() -> None:
    zero = technical("<fingering>0</fingering>")
    read = reading(f"A4:2{zero} E4:2", name="Cello")
    assert (read.notes[0].given[0].harmonic, read.notes[0].given[0].finger) == ("natural", None)


def test_the_thumb_is_kept() -> None:
    read = reading(f"A4:2{technical('<thumb-position/>')} B4:2", name="Cello")
    assert read.notes[0].given[0].finger == THUMB
    assert told(finger_notes(read.notes, read.player), "cello").split()[0] == "1:T"


def test_two_voices_are_one_hand() -> None:
    second = "<backup><duration>96</duration></backup>"
    low = (
        "<note><pitch><step>D</step><octave>4</octave></pitch><duration>96</duration><voice>2</voice></note>"
    )
    assert [note.key for note in reading(f"F#4:4 {second} {low}").notes] == [(62, 66)]


def test_seconds_follow_the_tempo_and_a_tempo_that_is_missing_is_assumed() -> None:
    metronome = '<sound tempo="120"/>'
    fast, none = reading(f"{metronome} D4:1 E4:1 F#4:2"), reading("D4:1 E4:1 F#4:2")
    assert (fast.tempo_told, none.tempo_told) == (True, False)
    assert [note.time for note in fast.notes] == [0, 0.5, 1.0]
    assert [note.seconds for note in none.notes] == [0.75, 0.75, 1.5]


def test_beats_are_those_that_players_count() -> None:
    six_eight = FIRST.replace("<beats>4</beats><beat-type>4", "<beats>6</beats><beat-type>8")
    opened = score_from_bytes(
        score(part([f"{six_eight} D4:1/2 E4:1/2 F#4:1/2 G4:1/2 A4:1/2 B4:1/2"])), "test"
    )
    assert [note.on_beat for note in read_part(opened.part()).notes] == [
        True,
        False,
        False,
        True,
        False,
        False,
    ]


REFUSED = {
    "a part for others": (
        score(part([f"{FIRST} D4:4"]), names=("Flute",)), "'Flute' is not known as a part for strings",
    ),
    "two staves": (
        score(part([f"{FIRST} D4:4 <backup><duration>96</duration></backup><note><pitch><step>D</step>"
                    "<octave>3</octave></pitch><duration>96</duration><voice>5</voice><staff>2</staff></note>"])),
        "the part has two staves (from bar 1 beat 1)",
    ),
    "scordatura": (
        score(part([f"{FIRST} D4:4", f"{words('Scordatura')} D4:4"])),
        "the strings are tuned anew in bar 2 beat 1 (scordatura)",
    ),
    "no notes": (score(part([f"{FIRST} r:4"])), "no notes with a pitch"),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_fingered_is_refused(what: str) -> None:
    data, message = REFUSED[what]
    with pytest.raises(InputError) as error:
        read_part(score_from_bytes(data, "test").part())
    assert message in str(error.value)


WARNED = {
    "too low": (
        "C3:1 D4:1 r:2",
        "bar 1 beat 1: C3 cannot be played on the violin: C3 lies below its lowest string, G3",
    ),
    "too high": (
        "D4:1 C9:1 r:2",
        "bar 1 beat 2: C9 cannot be played on the violin: C9 lies above the fingerboard",
    ),
    "five notes": (
        "G3+D4+A4+E5+B5:4",
        "bar 1 beat 1: G3 and D4 and A4 and E5 and B5 cannot be played on the violin: it has 4 strings",
    ),
    "one string for two": ("r:1 G3+A3:3", "bar 1 beat 2: G3 and A3 cannot be played together on the violin"),
    "a tenth": (
        "r:3 A3+C5:1",
        "bar 1 beat 4: A3 and C5 can only be had with a stretch on the violin: "
        "the hand would have to span 8 semitones, and its frame is 5",
    ),
    "too wide": ("A3+F5:4", "the hand would have to span 13 semitones, and it spans 5"),
    "a chord on strings apart": (
        "r:1 G3+A3+E5:3",
        "bar 1 beat 2: G3 and A3 and E5 cannot be played on the violin at once, with one hand on neighbouring strings",
    ),
    "marks that no hand can keep": (
        f"r:2 B4:2{technical('<fingering>0</fingering><string>1</string>')}",
        "bar 1 beat 3: B4 cannot be had",
    ),
}


@pytest.mark.parametrize("what", WARNED)
def test_what_no_hand_can_do_is_said_and_the_rest_is_done(what: str) -> None:
    music, message = WARNED[what]
    found = finger_part(reading(music, "D4:4"))
    assert any(message in warning for warning in found.warnings), found.warnings
    assert found.rows()[-1].string is not None


def test_what_no_hand_can_play_has_nulls() -> None:
    row = finger_part(reading("C3:1 D4:1 r:2")).rows()[0].as_json()
    assert row == {
        "bar": "1", "place": 1, "onset": "0", "pitch": "C3", "string": None, "position": None, "finger": None,
        "sure": None,
    }  # fmt: skip


def test_a_position_that_was_not_taught_is_said() -> None:
    read = reading("E6:4")
    found = finger_part(read, Wishes(positions=frozenset({1, 3})))
    assert found.warnings == ("bar 1 beat 1: E6 lies in none of the positions 1, 3",)


def test_onsets_are_exact() -> None:
    read = reading("D4:1/3 E4:1/3 F#4:1/3 G4:3")
    assert [row.onset for row in finger_part(read).rows()] == [0, Fraction(1, 3), Fraction(2, 3), 1]
