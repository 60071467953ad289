"""Lines written as MusicXML can be read at sight: values, ties, tuplets, beams, accidentals (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.musicxml.elements import (
    Accidental,
    Articulation,
    Bow,
    Direction,
    Fermata,
    Fingering,
    Notehead,
    Opaque,
    Ornament,
    Slur,
    Words,
)
from excerpts.notes import Event, Head, Notation, TimedElement, Voice, read_line, write_line
from tests.notes.lines import accidentals, beams, line, pitch, values
from tests.schema import schema_errors


@pytest.mark.parametrize(
    ("time", "lengths", "expected"),
    [
        # syncopations that players know stay whole
        ("4/4", "1 2 1", ["4 2 4"]),
        ("4/4", "1/2 1 1/2 2", ["8 4 8 2"]),
        ("2/4", "1/4 1/2 1/4 1/4 1/2 1/4", ["16 8 16 16 8 16"]),
        ("4/4", "3/2 1/2 1/2 3/2", ["4. 8 8 4."]),
        ("4/4", "1 3", ["4 2."]),
        # the middle of the bar shows
        ("4/4", "3/2 1 3/2", ["4. 8~ 8 4."]),
        ("4/4", "1/2 2 3/2", ["8 4.~ 8 4."]),
        ("4/4", "1 3/2 3/2", ["4 4~ 8 4."]),
        ("4/4", "3/4 1 5/4 1", ["8. 16~ 8. 16~ 4 4"]),
        ("4/4", "1/4 7/4 2", ["16 8.~ 4 2"]),
        ("4/4", "7/4 1/4 2", ["4.. 16 2"]),
        # over the barline
        ("4/4", "3 2 3", ["2. 4~", "4 2."]),
        ("3/4", "9", ["2.~", "2.~", "2."]),
        # compound metre: the dotted beat shows
        ("6/8", "1 1/2 1/2 1", ["4 8 8 4"]),
        ("6/8", "2 1", ["4.~ 8 4"]),
        ("6/8", "1/2 2 1/2", ["8 4~ 4 8"]),
        ("6/8", "3", ["2."]),
        ("6/8", "3/4 3/4 3/2", ["8. 8. 4."]),
        ("9/8", "9/2", ["2.~ 4."]),
        ("12/8", "3/2 3 3/2", ["4. 2. 4."]),
        ("12/8", "6", ["1."]),
        # three in a bar
        ("3/4", "1/2 2 1/2", ["8 8~ 4. 8"]),
        ("3/4", "1 2", ["4 2"]),
        ("3/4", "3/2 3/2", ["4. 4."]),
        # irregular
        ("5/8", "5/2", ["4~ 4."]),
        ("7/8", "1 1 3/2", ["4 4 4."]),
        ("5/4", "5", ["2.~ 2"]),
        ("3+2/8", "3/2 1", ["4. 4"]),
        ("2/2", "1 2 1", ["4 2 4"]),
        # rests lie on the beats
        ("4/4", "-1 -3/2 1 1/2", ["r4 r4 r8 4 8"]),
        ("4/4", "1 -2 1", ["4 r4 r4 4"]),
        ("4/4", "2 -2", ["2 r2"]),
        ("3/4", "1 -2", ["4 r4 r4"]),
        ("3/4", "-2 1", ["r4 r4 4"]),
        ("6/8", "-1 1/2 1/2 -1", ["r4 8 8 r8 r8"]),
        ("6/8", "3/2 -3/2", ["4. r4."]),
        ("6/8", "1/4 -11/4", ["16 r16 r8 r8 r4."]),
        ("4/4", "-4", ["bar"]),
        ("3/4", "-3 1 1 1 -6", ["bar", "4 4 4", "bar", "bar"]),
    ],
)  # fmt: skip
def test_values(time: str, lengths: str, expected: list[str]) -> None:
    """Common practice, worked by hand."""
    made = write_line(line(time, lengths))
    assert values(made) == expected
    assert schema_errors(made.xml) == []


@pytest.mark.parametrize(
    ("time", "lengths", "expected", "ratio"),
    [
        ("2/4", "1/3 1/3 1/3 1", "8t 8t 8t 4", (3, 2)),
        ("2/4", "2/3 1/3 1/3 2/3", "4t 8t 8t 4t", (3, 2)),
        ("2/4", "1/2 1/6 1/6 1/6 1", "8 16t 16t 16t 4", (3, 2)),
        ("2/4", "2/3 2/3 2/3", "4t 4t 4t", (3, 2)),
        ("4/4", "4/3 4/3 4/3", "2t 2t 2t", (3, 2)),
        ("2/4", "1/5 1/5 1/5 1/5 1/5 1", "16t 16t 16t 16t 16t 4", (5, 4)),
        ("2/4", "1/7 1/7 1/7 1/7 1/7 1/7 1/7 1", "16t 16t 16t 16t 16t 16t 16t 4", (7, 4)),
        ("2/4", "1/3 4/3 1/3", "8t 4t~ 4t 8t", (3, 2)),
        ("2/4", "1/3 -1/3 1/3 1", "8t r8t 8t 4", (3, 2)),
        ("2/4", "1/4 1/12 1/6 1/2 1", "16 32t 16t 8 4", (3, 2)),
        ("6/8", "3/10 3/10 3/10 3/10 3/10 3/2", "8t 8t 8t 8t 8t 4.", (5, 3)),
    ],
)  # fmt: skip
def test_tuplets(time: str, lengths: str, expected: str, ratio: tuple[int, int]) -> None:
    """Ratios: fractions of a group, common practice, no source; types worked by hand."""
    made = write_line(line(time, lengths))
    assert values(made) == [expected]
    assert schema_errors(made.xml) == []
    found = {
        (int(m.findtext("actual-notes") or 0), int(m.findtext("normal-notes") or 0))
        for m in made.tree().iter("time-modification")
    }
    assert found == {ratio}
    edges = [tuplet.get("type") for tuplet in made.tree().iter("tuplet")]
    assert edges[::2] == ["start"] * (len(edges) // 2)
    assert edges[1::2] == ["stop"] * (len(edges) // 2)


def test_a_tuplet_with_a_new_note_is_written_anew_and_its_neighbour_stays_as_printed() -> None:
    printed = read_line(write_line(line("4/4", "1/3 1/3 1/3 1 1/3 1/3 1/3 1"))).events
    joined = replace(printed[1], duration=Fraction(2, 3), segments=(Fraction(2, 3),), printed=())
    unmarked = [replace(event, heads=(replace(event.heads[0], marks=()),)) for event in printed[3:]]
    made = write_line(replace(line("4/4", "4"), events=(printed[0], joined, *unmarked)))
    assert values(made) == ["8t 4t 4 8t 8t 8t 4"]
    edges = [[tuplet.get("type") for tuplet in note.iter("tuplet")] for note in made.tree().iter("note")]
    assert edges == [["start"], ["stop"], [], [], [], [], []]


def test_a_bracket_shows_where_no_beam_does() -> None:
    beamed = write_line(line("2/4", "1/3 1/3 1/3 1"))
    assert [t.get("bracket") for t in beamed.tree().iter("tuplet")] == ["no", None]
    longer = write_line(line("2/4", "1/2 1/6 1/6 1/6 1"))
    assert [t.get("bracket") for t in longer.tree().iter("tuplet")] == ["yes", None]
    quarters = write_line(line("2/4", "2/3 2/3 2/3"))
    assert [t.get("bracket") for t in quarters.tree().iter("tuplet")] == ["yes", None]


@pytest.mark.parametrize(
    ("time", "lengths", "expected"),
    [
        ("4/4", "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2", "[ - - ] [ - - ]"),
        ("4/4", "1 1/2 1/2 1/2 1/2 1", ". [ ] [ ] ."),
        ("4/4", "1/2 1/2 1/4 1/4 1/2 2", "[ ] [[ -] ] ."),
        ("2/4", "1/2 1/2 1/2 1/2", "[ - - ]"),
        ("3/4", "1/2 1/2 1/2 1/2 1/2 1/2", "[ - - - - ]"),
        ("3/4", "1 1/2 1/2 1/2 1/2", ". [ ] [ ]"),
        ("6/8", "1/2 1/2 1/2 1/2 1/2 1/2", "[ - ] [ - ]"),
        ("3/8", "1/2 1/2 1/2", "[ - ]"),
        ("2/4", "1/4 1/4 1/4 1/4 3/4 1/4", "[[ -- -- ]] [ ]<"),
        ("2/4", "1/4 3/4 3/4 1/4", "[> ] [ ]<"),
        ("2/4", "1/4 1/2 1/4 1", "[> - ]< ."),
        ("1/4", "3/8 1/8 3/8 1/8", "[[ -]< -[ ]]<"),
        ("1/4", "1/8 3/8 1/8 3/8", "[[> -] -[> ]]"),
        ("6/8", "1/4 1/4 1/4 1/4 1/4 1/4 3/2", "[[ -- -- -- -- ]] ."),
        ("6/8", "3/8 1/8 3/8 1/8 3/8 1/8 3/2", "[[ -]< -[ -]< -[ ]]< ."),
        ("2/4", "-1/2 1/2 1/2 -1/2", ". . . ."),
        ("5/8", "1/2 1/2 1/2 1/2 1/2", "[ ] [ - ]"),
        ("7/8", "1/2 1/2 1/2 1/2 1/2 1/2 1/2", "[ ] [ ] [ - ]"),
        ("2/2", "1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2", "[ - - ] [ - - ]"),
    ],
)  # fmt: skip
def test_beams(time: str, lengths: str, expected: str) -> None:
    """Common practice, worked by hand: ">" and "<" are short beams forward and backward."""
    assert beams(write_line(line(time, lengths))) == [expected]


def test_a_pickup_counts_back_from_its_barline() -> None:
    made = write_line(line("4/4", "1/2 1/2 1/2 1 1 1 1", pickup="3/2"))
    assert values(made) == ["8 8 8", "4 4 4 4"]
    assert beams(made)[0] == "[ - ]"
    first = made.tree().find("part/measure")
    assert first is not None
    assert (first.get("number"), first.get("implicit")) == ("0", "yes")


@pytest.mark.parametrize(
    ("pitches", "fifths", "expected"),
    [
        ("F4 F#4 F#4 F4", 0, ["", "sharp", "", "natural"]),
        ("F#4 F4 F#5 F#4", 1, ["", "natural", "", "sharp"]),
        ("Bb4 B4 Bb4 Bb3", -1, ["", "natural", "flat", ""]),
        ("F##4 F#4 F4 Fb4", 0, ["double-sharp", "sharp", "natural", "flat"]),
        ("F#4 F#4 F#4 F#4 F#4", 0, ["sharp", "", "", "", "sharp"]),  # the fifth stands after a barline
    ],
)
def test_accidentals(pitches: str, fifths: int, expected: list[str]) -> None:
    """An accidental holds for its line or space up to the barline: common practice."""
    lengths = " ".join(["1"] * len(expected))
    assert accidentals(write_line(line("4/4", lengths, pitches, fifths))) == expected


def test_a_note_tied_over_the_barline_carries_its_accidental_but_the_next_does_not() -> None:
    made = write_line(line("4/4", "3 2 1 1 1", "C4 F#4 F#4 F#4 C4"))
    assert accidentals(made) == ["", "sharp", "", "sharp", "", ""]


def test_a_cautionary_accidental_of_the_source_stays() -> None:
    own = Notation(Accidental("natural", (("parentheses", "yes"),)))
    start = line("4/4", "4", "F4")
    event = replace(start.events[0], heads=(Head(pitch("F4"), (own,)),))
    made = write_line(replace(start, events=(event,)))
    shown = made.tree().find(".//accidental")
    assert shown is not None
    assert (shown.text, shown.get("parentheses")) == ("natural", "yes")


def test_marks_go_where_the_schema_wants_them() -> None:
    marks = (
        Notation(Slur("start", "1")),
        Notation(Fingering("3")),
        Notation(Bow("up-bow")),
        Notation(Articulation("staccato")),
        Notation(Ornament("trill-mark")),
        Notation(Fermata(look=())),
        Notation(Opaque("lyric", "<lyric><text>la</text></lyric>")),
        Notation(Notehead("diamond")),
    )
    start = line("4/4", "6", "F#4")
    event = replace(start.events[0], heads=(Head(pitch("F#4"), marks),))
    made = write_line(replace(start, events=(event,)))
    assert schema_errors(made.xml) == []
    first, second = made.tree().iter("note")
    assert [first.findtext(".//fingering"), second.findtext(".//fingering")] == ["3", None]


def test_a_mark_of_the_last_segment_stays_on_the_last() -> None:
    stop = Notation(Slur("stop", "1"), -1)
    start = line("4/4", "9", "F4")
    event = replace(start.events[0], heads=(Head(pitch("F4"), (stop,)),))
    made = write_line(replace(start, events=(event,)))
    assert [note.find(".//slur") is not None for note in made.tree().iter("note")] == [False, False, True]


@pytest.mark.parametrize(("before", "place"), [(0, 1), (1, 2), (2, 3), (3, 4)])
def test_words_stand_among_the_grace_notes_where_they_stood(before: int, place: int) -> None:
    (only,) = line("4/4", "4").events
    graces = tuple(
        Event(Fraction(0), Fraction(0), (Head(pitch(name)),), grace="16th") for name in ("E4", "F4", "G4")
    )
    start = line("4/4", "4")
    words = TimedElement(0, Fraction(0), Direction.of(Words("dolce")), before)
    made = write_line(replace(start, events=(*graces, only), placed=(*start.placed, words)))
    tags = [child.tag for child in made.tree().iterfind("part/measure/*")]
    assert tags[place] == "direction"
    assert read_line(made).placed[-1] == words


def test_a_repeat_that_begins_stands_before_the_notes_and_one_that_ends_behind_them() -> None:
    begins = Opaque("barline", '<barline location="left"><repeat direction="forward"/></barline>')
    ends = Opaque("barline", '<barline location="right"><repeat direction="backward"/></barline>')
    start = line("4/4", "2 2")
    placed = (*start.placed, TimedElement(0, Fraction(0), begins), TimedElement(0, Fraction(4), ends))
    made = write_line(replace(start, placed=placed))
    tags = [child.tag for child in made.tree().iterfind("part/measure/*")]
    assert tags == ["attributes", "barline", "note", "note", "barline"]


@pytest.mark.parametrize(("labels", "hidden"), [(("1", "2"), [None, None]), (("0", "1"), ["yes", None])])
def test_new_music_hides_the_number_of_a_pick_up_alone(
    labels: tuple[str, ...], hidden: list[str | None]
) -> None:
    start = line("4/4", "4 4")
    bars = tuple(replace(bar, label=label) for bar, label in zip(start.bars, labels, strict=True))
    made = write_line(replace(start, bars=bars, measures=()))
    assert [measure.get("implicit") for measure in made.tree().iter("measure")] == hidden


def test_grace_notes_are_beamed_together_and_take_no_time() -> None:
    start = line("2/4", "1 1", "C4 D4")
    graces = tuple(
        Event(Fraction(1), Fraction(0), (Head(pitch(name)),), grace="16th") for name in ("E4", "F4")
    )
    slashed = Event(Fraction(0), Fraction(0), (Head(pitch("B4")),), grace="/eighth")
    first, second = start.events
    made = write_line(replace(start, events=(slashed, first, *graces, second)))
    assert schema_errors(made.xml) == []
    assert beams(made) == [". . [[ ]] ."]
    assert made.tree().find(".//grace[@slash='yes']") is not None


def test_directions_in_the_middle_of_a_note_keep_their_time() -> None:
    words = Direction.of(Words("rit."), look=())
    start = line("4/4", "4", "C4")
    placed = (*start.placed, TimedElement(0, Fraction(5, 2), words))
    made = write_line(replace(start, placed=placed))
    assert schema_errors(made.xml) == []
    assert read_line(made).placed == placed
    tags = [str(element.tag) for element in made.tree().iterfind("part/measure/*")]
    assert tags == ["attributes", "note", "backup", "direction", "forward"]


def test_divisions_are_the_least_that_fit() -> None:
    assert write_line(line("4/4", "1 1 1 1")).tree().findtext(".//divisions") == "1"
    assert write_line(line("2/4", "1/3 1/3 1/3 1/4 1/4 1/2")).tree().findtext(".//divisions") == "12"


def test_a_line_without_time_signature_is_written_too() -> None:
    bare = line("4/4", "3 2 1", "C4 D4 E4")
    made = write_line(Voice(bare.events, bare.bars))
    assert schema_errors(made.xml) == []
    assert made.tree().find(".//time") is None


def test_the_same_line_gives_the_same_bytes() -> None:
    made = line("6/8", "3/8 1/8 3/8 1/8 1/2 3/2")
    assert write_line(made).xml == write_line(made).xml
