"""Outline, stop before the shift, acceleration, doubled and short (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.musicxml.elements import Signatures
from excerpts.notes import read_line
from excerpts.variants import vary
from excerpts.words import Words
from tests.notes.lines import values
from tests.notes.sources import excerpt
from tests.schema import schema_errors
from tests.variants.music import lengths, notes, passage, pitches, start

RUN = "G4/1/4 A4 B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4"
TEMPO = (
    "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute>"
    "</metronome></direction-type><sound tempo='60'/></direction>"
)


def fingered(text: str, fingers: str) -> Excerpt:
    """A bar of crotchets with a finger on each note."""
    made = passage("4/4", text)
    pieces = made.xml.split(b"<type>quarter</type></note>")
    xml = pieces[0]
    for finger, piece in zip(fingers.split(), pieces[1:], strict=True):
        sign = f"<notations><technical><fingering>{finger}</fingering></technical></notations>"
        xml += b"<type>quarter</type>" + sign.encode() + b"</note>" + piece
    return replace(made, xml=xml)


def test_the_outline_is_what_sounds_on_each_beat() -> None:
    made = vary(passage("4/4", RUN, "C5/4", box=(0, 0)), "outline")
    assert lengths(made) == ["1 1 1 1", "4"]
    assert pitches(made) == ["G4", "D5", "A5", "D5", "C5"]
    assert schema_errors(made.xml) == []
    with pytest.raises(VariantError, match="leaves nothing out: every note of bar 1 is on a beat"):
        vary(made, "outline")


def test_an_outline_keeps_rests_and_notes_over_beats() -> None:
    made = vary(passage("4/4", "C4/1/2 D4 E4/2 r/1/2 F4/1/2"), "outline")
    assert lengths(made) == ["1 2 -1"]


def test_a_box_of_notes_between_the_beats_has_no_outline() -> None:
    with pytest.raises(VariantError, match="no note of bar 1 sounds on a beat"):
        vary(passage("2/4", "r/1/2 C4 r D4"), "outline")


def test_six_eight_has_two_beats_to_outline() -> None:
    assert lengths(vary(passage("6/8", "C4/1/2 D4 E4 F4 G4 A4"), "outline")) == ["3/2 3/2"]


def test_a_pause_stands_before_a_change_of_position() -> None:
    made = vary(fingered("A4/1 B4 D5 E5", "1 2 2 3"), "stop-before-shift")
    paused = [any(m.name == "fermata" for m in e.heads[0].marks) for e in read_line(made).events]
    assert paused == [False, True, False, False]
    assert lengths(made) == ["1 1 1 1"]
    again = vary(made, "stop-before-shift")
    assert again.xml == made.xml


def test_the_same_finger_on_the_next_string_is_no_shift() -> None:
    with pytest.raises(VariantError, match="no fingering, string number or position in bar 1 shows a change"):
        vary(fingered("A4/1 E5 A4 E5", "1 1 1 1"), "stop-before-shift")


def test_acceleration_of_24_notes_goes_through_all_speeds() -> None:
    """lcm(1, 2, 3, 4, 6, 8) = 24: one beat of 1, 1/2, 1/3, 1/4, 1/6, 1/8."""
    source = passage("6/4", f"{RUN} G4 A4 B4 C5 D5 E5 F5 G5", "C5/4", box=(0, 0))
    made = vary(source, "acceleration")
    notes = [event for event in read_line(made).events if not event.is_rest]
    assert len(notes) == 6 * 24 + 1
    assert [notes[24 * part].duration for part in range(6)] == [Fraction(1, n) for n in (1, 2, 3, 4, 6, 8)]
    assert pitches(made)[:24] * 6 == pitches(made)[:-1]
    assert schema_errors(made.xml) == []


def test_acceleration_changes_the_clef_between_its_groups() -> None:
    """Six notes in each clef: four to a beat the change would fall among the notes of the second beat."""
    clef = "<attributes><clef><sign>{}</sign><line>{}</line></clef></attributes>"
    bars = notes("G4/1/2 A4 B4 C5 D5 E5"), clef.format("G", 2) + notes("F5/1/2 G5 A5 G5 F5 E5")
    made = vary(excerpt(start("3/4") + clef.format("C", 3) + bars[0], bars[1], box=(0, 1)), "acceleration")
    music = read_line(made)
    changes = [one for one in music.placed if isinstance(one.sign, Signatures) and list(one.sign.of("clef"))]
    assert len(changes) > 4
    assert {one.onset.denominator for one in changes} == {1}


def test_acceleration_takes_the_speeds_that_divide_the_notes() -> None:
    made = vary(passage("4/4", RUN), "acceleration")
    assert {e.duration for e in read_line(made).events} == {Fraction(1, n) for n in (1, 2, 4, 8)}
    with pytest.raises(VariantError, match="16 notes of bar 1 do not divide into beats of 2, 3"):
        vary(passage("4/4", RUN), "acceleration:2-3")
    with pytest.raises(VariantError, match="one run of equal notes"):
        vary(passage("4/4", "C4/1 D4/1/2 E4 F4/2"), "acceleration")
    with pytest.raises(VariantError, match="not numbers of notes to a beat"):
        vary(passage("4/4", RUN), "acceleration:5")


def test_doubled_sounds_the_same_in_values_twice_as_long() -> None:
    made = vary(passage("4/4", RUN, more=TEMPO), "doubled")
    assert values(made) == [" ".join(["8"] * 8)] * 2
    assert pitches(made) == pitches(passage("4/4", RUN))
    assert b"<beat-unit>half</beat-unit>" in made.xml
    assert b'<sound tempo="120"/>' in made.xml
    assert schema_errors(made.xml) == []


@pytest.mark.parametrize(
    ("time", "bar", "expected"),
    [
        ("2/4", "C4/1/4 D4 E4 F4 G4/1", ["1/2 1/2 1/2 1/2 2"]),
        ("6/8", "C4/1/2 D4 E4 F4 G4 A4", ["1 1 1 1 1 1"]),
        ("3/4", "C4/1 D4 E4/1/2 F4", ["2 2 1 1"]),
    ],
)
def test_the_bars_of_doubled_values(time: str, bar: str, expected: list[str]) -> None:
    assert lengths(vary(passage(time, bar), "doubled")) == expected


@pytest.mark.parametrize(
    ("time", "written", "bars"),
    [
        ("2/4", "4/4", 1), ("3/4", "3/2", 1), ("4/4", "4/4", 2), ("5/4", "5/2", 1), ("6/4", "3/2", 2),
        ("2/2", "4/4", 2), ("3/2", "4/4", 3), ("3/8", "3/4", 1), ("4/8", "4/4", 1), ("5/8", "5/4", 1),
        ("6/8", "6/4", 1), ("7/8", "7/4", 1), ("9/8", "9/4", 1), ("12/8", "6/4", 2), ("6/16", "6/8", 1),
    ],
)  # fmt: skip
def test_doubled_values_keep_the_beats_and_the_barlines(time: str, written: str, bars: int) -> None:
    """The same beats, each twice as long, where that can be read: common practice, no source."""
    beats, unit = map(int, time.split("/"))
    made = vary(passage(time, " ".join([f"C4/{Fraction(4, unit)}"] * beats)), "doubled")
    signs = [f"{sign.findtext('beats')}/{sign.findtext('beat-type')}" for sign in made.tree().iter("time")]
    assert (signs, len(made.bars)) == ([written], bars)


@pytest.mark.parametrize(
    ("time", "bar", "written", "expected"),
    [
        ("4/4", "C4/3 D4/1", "4/2", ["6 2"]),
        ("4/4", "C4/1 D4/2 E4/1", "4/2", ["2 4 2"]),
        ("2/2", "C4/3 D4/1", "4/2", ["6 2"]),
        ("4/4", "C4/2 D4", "4/4", ["4", "4"]),
        ("4/4", "C4/4", "4/4", ["8", ""]),
    ],
)
def test_no_note_goes_over_a_barline_of_doubled_values_but_one_that_is_the_bar(
    time: str, bar: str, written: str, expected: list[str]
) -> None:
    """Bars of four halves where a note would be tied over the middle; nobody reads a breve sooner than a tie."""
    made = vary(passage(time, bar), "doubled")
    signs = [f"{sign.findtext('beats')}/{sign.findtext('beat-type')}" for sign in made.tree().iter("time")]
    assert (signs, lengths(made)) == ([written], expected)


def test_the_note_that_doubled_values_run_into_ends_at_a_barline() -> None:
    made = vary(passage("4/4", "C4/1 D4 E4 F4", "G4/4", box=(0, 0)), "doubled")
    assert lengths(made) == ["2 2", "2 2", "4"]


def test_short_bars_of_doubled_values_keep_the_signature_of_whole_ones() -> None:
    made = vary(passage("3/4", "C4/1", "D4/1 E4 F4", "G4/2"), "doubled")
    assert lengths(made) == ["2", "2 2 2", "4"]
    assert [sign.findtext("beats") for sign in made.tree().iter("time")] == ["3"]
    four = vary(passage("4/4", "B4/1/2 C4/1", "D4/1 E4 F4 G4", "A4/2 B4/1/2"), "doubled")
    assert lengths(four) == ["1 2", "2 2", "2 2", "4", "1"]
    assert len(list(four.tree().iter("time"))) == 1


def test_a_stack_with_doubled_keeps_the_pitches() -> None:
    made = vary(passage("4/4", RUN, "C5/4", box=(0, 0)), "long-short+doubled")
    assert lengths(made)[:2] == ["3/4 1/4 3/4 1/4 3/4 1/4 3/4 1/4"] * 2
    assert pitches(made)[-1] == "C5"


def test_short_goes_on_to_the_first_bar_that_shows_the_rhythm() -> None:
    """Behind a pick-up or a bar of other notes; what they show is not the rhythm."""
    made = vary(passage("4/4", "C4/4", RUN, RUN, "C5/4"), "long-short+short")
    rhythm, other, shown, arrival = lengths(made)
    assert (rhythm, other) == ("3/8 1/8", "4")
    assert shown == " ".join(["3/8 1/8"] * 8)
    assert arrival.startswith("3/8")


def test_short_prints_the_rhythm_the_first_bar_and_go_on_like_this() -> None:
    made = vary(passage("4/4", RUN, RUN, RUN), "long-short+short")
    assert lengths(made) == ["3/8 1/8", " ".join(["3/8 1/8"] * 8), "3/8 -1/8 -1/2 -1 -2"]
    assert b"carry on like this" in made.xml
    german = vary(passage("4/4", RUN, RUN, RUN), "long-short+short", words=Words("de"))
    assert german.xml == made.xml.replace(b"carry on like this", b"so weiter")
    assert made.xml.count(b"<notehead>x</notehead>") == 2
    assert schema_errors(made.xml) == []
    with pytest.raises(VariantError, match="no more than one"):
        vary(passage("4/4", RUN), "long-short+short")
