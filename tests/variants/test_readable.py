"""What a player could stumble over: another beat, dots on long notes, fingers, empty bars, headings (default tier)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from excerpts.engrave.alt_text import spoken
from excerpts.excerpt import Excerpt, Tempo
from excerpts.notes import read_line
from excerpts.variants import in_double_values, vary
from excerpts.variants.tempo_steps import half_and_whole
from tests.variants.music import lengths, passage, pitches

RUN = "G4/1/4 A4 B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4"
MARK = (
    "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>{}</per-minute></metronome>"
    "</direction-type><sound tempo='{}'/></direction>"
)


def metronomes(made: Excerpt) -> list[str]:
    """Each metronome mark: "quarter. 75", "16th 16th"."""
    found = []
    for mark in made.tree().iter("metronome"):
        text = ""
        for child in mark:
            text += "." if child.tag == "beat-unit-dot" else f" {child.text}"
        found.append(text.strip())
    return found


@pytest.mark.parametrize(
    ("variant", "number", "expected"),
    [
        ("long-short-short-short", 112, ["quarter. 75", "16th 16th"]),  # 12/8: 112 * 2/3 = 74.67
        ("long-short-short-short", 72, ["quarter. 48", "16th 16th"]),
        ("rhythm:5-1-1-1", 72, ["quarter 72"]),  # 4/4 again: the beat is the same
        ("triplet-long-short:stretched", 72, ["eighth. 96", "16th 16th"]),  # 12/16: 72 * 4/3
        ("triplet-long-short", 72, ["quarter 72"]),  # triplets of the beat
        ("burst:4", 60, ["quarter 60"]),
        ("long-short", 60, ["quarter 60"]),
    ],
)
def test_the_speed_is_told_where_the_beat_changes(variant: str, number: int, expected: list[str]) -> None:
    """Crotchet = n is dotted crotchet = 2n/3, in whole numbers; the short notes are as fast as before."""
    made = vary(passage("4/4", RUN, "G4/4", box=(0, 0), more=MARK.format(number, number)), variant)
    assert metronomes(made) == expected
    assert [sound.get("tempo") for sound in made.tree().iter("sound")] == [str(number)]


def test_crotchets_that_become_minims_or_six_of_a_bar_are_as_fast_as_they_were() -> None:
    """6/4 counts six crotchets, and 3/8 quavers: the metronome's mark stays as it is, and nothing is equal."""
    slow = passage("4/4", "C4/1 D4 E4 F4", "G4 A4 B4 C5", more=MARK.format(60, 60))
    made = vary(slow, "long-short-short-short")
    assert metronomes(made) == ["quarter 60"]
    assert made.tempo == Tempo(Fraction(60), Fraction(1))
    bar = "D4/1/2 E4 F4 G4 A4 B4 C5"
    seven = passage("7/8", bar, bar, more=MARK.format(100, 100))
    assert metronomes(vary(seven, "long-short-short-short")) == ["quarter 100"]


def test_where_the_beat_goes_on_to_change_the_equal_notes_stand_once() -> None:
    made = vary(passage("4/4", "C4/2 D4/1/2 E4 F4 G4", "A4/2 B4/1/2 C5 B4 A4"), "repeat:3:stretched")
    assert metronomes(made) == ["eighth eighth"]
    assert [word.text for word in made.tree().iter("words")] == ["sempre"]
    mixed = vary(passage("4/4", "C4/1 D4 E4 F4", "C4/1/2 D4 E4 F4 G4 A4 B4 C5"), "repeat:3:stretched")
    assert metronomes(mixed) == ["eighth eighth"]
    once = vary(passage("4/4", "C4/1/2 D4 E4 F4 G4 A4 B4 C5"), "repeat:3:stretched")
    assert not list(once.tree().iter("words"))


def test_acceleration_has_a_beat_of_its_own() -> None:
    made = vary(passage("4/4", RUN, more=MARK.format(112, 112)), "acceleration")
    assert metronomes(made) == ["quarter 50"]
    assert made.tempo == Tempo(Fraction(50), Fraction(1))
    assert {time.get("print-object") for time in made.tree().iter("time")} == {"no"}


@pytest.mark.parametrize("variant", ["burst:4", "burst:4:stop-first", "burst:4:landing", "rhythm:5-1-1-1"])
def test_no_note_that_is_stayed_on_has_a_staccato_dot(variant: str) -> None:
    dotted = " ".join(f"{name}." for name in RUN.split())
    made = vary(passage("4/4", dotted), variant)
    for event in read_line(made).events:
        names = {mark.name for head in event.heads for mark in head.marks}
        assert ("staccato" in names) <= (event.duration <= Fraction(1, 2))
    assert any(mark.name == "staccato" for e in read_line(made).events for h in e.heads for mark in h.marks)


def test_repeated_notes_lose_their_slurs_and_short_runs_stay() -> None:
    made = vary(passage("4/4", "(C4/1/2 D4 E4 F4) G4/1 (A4/1/2 B4)"), "repeat")
    assert made.xml.count(b"<slur") == 2
    assert lengths(made) == ["1/4 1/4 1/4 1/4 1/4 1/4 1/4 1/4 1 1/2 1/2"]


def test_fingers_stand_once_in_a_chain() -> None:
    source = passage("2/4", "C4/1/2 D4 E4 F4")
    fingered = source.xml.replace(
        b"</type></note>",
        b"</type><notations><technical><fingering>1</fingering></technical></notations></note>",
    )
    made = vary(
        Excerpt(
            fingered, source.bars, source.boxes, source.open_ends, source.tempo, source.origin, source.report
        ),
        "add-a-note",
    )
    assert len(pitches(made)) == 10
    assert made.xml.count(b"<fingering>") == 4


def test_a_step_of_a_chain_begins_with_its_first_note() -> None:
    """The rest in front of it is there, so that bars are full, and is not printed."""
    made = vary(passage("2/4", "C4/1/4 D4 E4 F4 G4 A4 B4 C5"), "backwards")
    rests = [note for note in made.tree().iter("note") if note.find("rest") is not None]
    assert rests
    assert all(note.get("print-object") == "no" for note in rests)


@pytest.mark.parametrize(("time", "bars"), [("4/4", 3), ("6/8", 2), ("3/4", 2)])
def test_nothing_stands_after_the_arrival_in_double_values(time: str, bars: int) -> None:
    length = {"4/4": 4, "6/8": 3, "3/4": 3}[time]
    source = passage(
        time, f"C4/{length}", f"D4/1/2 r/{length}".replace(f"r/{length}", f"r/{length - 1} r/1/2")
    )
    boxed = Excerpt(source.xml, source.bars, passage(time, f"C4/{length}", f"D4/{length}", box=(0, 0)).boxes)
    made = vary(boxed, "doubled")
    assert len(made.bars) == bars
    assert pitches(made) == ["C4", "D4"]
    assert not [bar for bar in made.tree().iter("measure") if not bar.findall("note/pitch")]


def test_a_dynamic_at_the_arrival_stands_behind_the_barline() -> None:
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
    source = passage("4/4", RUN, "C5/4", box=(0, 0))
    with_loud = source.xml.replace(b'<measure number="2">', b'<measure number="2">' + loud.encode())
    made = vary(Excerpt(with_loud, source.bars, source.boxes), "long-short-short-short")
    last = made.tree().findall("part/measure")[-1]
    assert last.find("direction/direction-type/dynamics") is not None


@pytest.mark.parametrize("variant", ["backwards", "last-bar-first", "acceleration", "add-a-bar"])
def test_the_heading_names_all_bars_of_the_box(variant: str) -> None:
    made = vary(passage("2/4", "C4/1/2 D4 E4 F4", "G4/1/2 A4 B4 C5"), variant)
    assert (spoken(made).first, spoken(made).last) == ("1", "2")


def test_a_retake_in_the_run_gets_a_sign_on_the_first_note() -> None:
    """Else the sign would be taken to tell how the passage starts."""
    source = passage("4/4", "(C4/1 D4) E4^ F4")
    assert vary(source, "separate").xml.count(b"-bow/>") == 0  # two strokes, up: no retake
    retake = vary(passage("4/4", "Cv4/1 D4 E4^ F4".replace("Cv4/1", "C4/1v")), "separate")
    marks = [[m.name for m in e.heads[0].marks] for e in read_line(retake).events]
    assert marks == [["down-bow"], [], ["up-bow"], []]
    assert vary(retake, "separate").xml == retake.xml


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("long-short", "long-short+doubled"),
        ("long-short+short", "long-short+doubled+short"),
        ("doubled+short", "doubled+short"),
        ("separate+burst:4", "separate+burst:4+doubled"),
    ],
)
def test_double_values_come_before_the_short_form(text: str, expected: str) -> None:
    assert in_double_values(text) == expected


def test_half_is_on_the_metronome_and_in_smaller_beats_below_forty() -> None:
    crotchet, dotted = Fraction(1), Fraction(3, 2)
    assert half_and_whole(Tempo(Fraction(92), crotchet))[0] == Tempo(Fraction(46), crotchet)
    assert half_and_whole(Tempo(Fraction(60), crotchet))[0] == Tempo(Fraction(60), crotchet / 2)
    assert half_and_whole(Tempo(Fraction(93), crotchet))[0] == Tempo(Fraction(46), crotchet)
    assert half_and_whole(Tempo(Fraction(50), dotted))[0] == Tempo(Fraction(72), Fraction(1, 2))


def test_the_sign_of_equal_values_is_valid_in_the_schema() -> None:
    from tests.schema import schema_errors

    made = vary(passage("4/4", RUN, "G4/4", box=(0, 0)), "long-short-short-short")
    assert schema_errors(made.xml) == []
    assert etree.fromstring(made.xml).find(".//metronome/beat-unit[2]") is not None


def test_the_short_form_goes_to_the_first_bar_that_sounds() -> None:
    source = passage("2/4", "r/2", "C4/1/2 D4 E4 F4", "G4/1/2 A4 B4 C5", "D5/2", box=(0, 2))
    made = vary(source, "long-short+short")
    assert lengths(made)[1:] == ["-2", "3/4 1/4 3/4 1/4", "3/4 -1/4 -1"]
    assert len(made.bars) == 4


def test_a_hairpin_that_stands_at_the_end_of_its_bar_stays_there() -> None:
    """With a negative offset it begins before it is written, as some programs export it."""
    wedge = "<direction><direction-type><wedge type='{}'/></direction-type><offset>{}</offset></direction></measure>"
    source = passage("2/4", "C4/1/2 D4 E4 F4", "G4/2", box=(0, 0))
    both = wedge.format("diminuendo", -24).removesuffix("</measure>") + wedge.format("stop", -12)
    made = vary(
        Excerpt(source.xml.replace(b"</measure>", both.encode(), 1), source.bars, source.boxes), "doubled"
    )
    order = [kind.get("type") for kind in made.tree().iter("wedge")]
    assert order == ["diminuendo", "stop"]
