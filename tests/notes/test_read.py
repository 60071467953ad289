"""Excerpts read as events: exact times, merged ties, chords, grace notes, voices and staves (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.errors import InputError, ScoreError
from excerpts.musicxml.elements import Direction, Signatures
from excerpts.notes import VoiceError, read_line, read_lines
from tests.notes.lines import pitch
from tests.notes.sources import excerpt

START = (
    "<attributes><divisions>2</divisions><key><fifths>0</fifths></key>"
    "<time><beats>2</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)


def note(name: str, duration: int, more: str = "", chord: bool = False, before: str = "") -> str:
    """A `<note>`: `before` goes in front of the pitch, `more` behind the duration."""
    step, octave = name[0], name[-1]
    alter = {"": "", "#": "<alter>1</alter>", "b": "<alter>-1</alter>"}[name[1:-1]]
    return (
        f"<note>{before}{'<chord/>' if chord else ''}<pitch><step>{step}</step>{alter}"
        f"<octave>{octave}</octave></pitch><duration>{duration}</duration>{more}</note>"
    )


def test_onsets_are_exact_when_divisions_change() -> None:
    change = "<attributes><divisions>3</divisions></attributes>"
    music = read_line(excerpt(START + note("C4", 2) + change + note("D4", 1) * 3, note("E4", 6)))
    assert [event.onset for event in music.events] == [
        Fraction(0), Fraction(1), Fraction(4, 3), Fraction(5, 3), Fraction(2),
    ]  # fmt: skip
    assert music.events[-1].duration == 2


def test_tied_notes_are_one_event_with_their_segments() -> None:
    first = note("C4", 4, "<tie type='start'/><notations><tied type='start'/><fermata/></notations>")
    second = note("C4", 1, "<tie type='stop'/><notations><tied type='stop'/></notations>")
    music = read_line(excerpt(START + first, second + note("D4", 3)))
    tied, other = music.events
    assert (tied.duration, tied.segments) == (Fraction(5, 2), (Fraction(2), Fraction(1, 2)))
    assert other.onset == Fraction(5, 2)
    assert [(mark.name, mark.segment) for mark in tied.heads[0].marks] == [("fermata", 0)]


def test_equal_neighbours_without_a_tie_stay_apart() -> None:
    music = read_line(excerpt(START + note("C4", 2) * 2))
    assert len(music.events) == 2


def test_a_chord_is_one_event_even_with_a_direction_inside_it() -> None:
    words = "<direction><direction-type><words>x</words></direction-type></direction>"
    music = read_line(excerpt(START + note("C4", 2) + words + note("E4", 2, chord=True) + note("D4", 2)))
    assert [[head.pitch for head in event.heads] for event in music.events] == [
        [pitch("C4"), pitch("E4")],
        [pitch("D4")],
    ]
    assert music.events[1].onset == 1


def test_a_chord_note_may_be_longer_than_its_chord() -> None:
    music = read_line(excerpt(START + note("C4", 2) + note("E4", 4, chord=True) + note("D4", 2)))
    assert [head.duration for head in music.events[0].heads] == [None, Fraction(2)]
    assert music.events[1].onset == 1


def test_one_tied_note_of_a_chord_keeps_its_tie_as_a_mark() -> None:
    tie = "<tie type='start'/><notations><tied type='start'/></notations>"
    stop = "<tie type='stop'/><notations><tied type='stop'/></notations>"
    music = read_line(
        excerpt(
            START
            + note("C4", 2, tie)
            + note("E4", 2, chord=True)
            + note("C4", 2, stop)
            + note("F4", 2, chord=True)
        )
    )
    assert len(music.events) == 2
    assert [mark.edge for mark in music.events[0].heads[0].marks] == ["start"]
    assert music.events[0].heads[1].marks == ()


def test_grace_notes_take_no_time_and_know_their_side_of_the_barline() -> None:
    grace = (
        "<note><grace slash='yes'/><pitch><step>B</step><octave>3</octave></pitch><type>eighth</type></note>"
    )
    after = "<note><grace/><pitch><step>D</step><octave>4</octave></pitch><type>16th</type></note>"
    music = read_line(excerpt(START + grace + note("C4", 4) + after, note("E4", 4)))
    assert [(e.grace, e.onset, e.closing) for e in music.events if e.grace] == [
        ("/eighth", Fraction(0), False),
        ("16th", Fraction(2), True),
    ]


def test_a_rest_that_fills_its_bar_is_known() -> None:
    whole = "<note><rest measure='yes'/><duration>4</duration></note>"
    half = "<note><rest/><duration>2</duration><type>quarter</type></note>"
    music = read_line(excerpt(START + whole, half + half, note("C4", 4)))
    assert [event.full_bar for event in music.events] == [True, False, False, False]


def test_offsets_are_kept_in_quarter_notes() -> None:
    words = "<direction><direction-type><words>x</words></direction-type><offset>3</offset></direction>"
    music = read_line(excerpt(START + words + note("C4", 4)))
    direction = next(placed for placed in music.placed if placed.name == "direction")
    assert isinstance(direction.sign, Direction)
    assert direction.sign.offset == Fraction(3, 2)
    attributes = next(placed for placed in music.placed if placed.name == "attributes")
    assert isinstance(attributes.sign, Signatures)
    assert attributes.sign.of("divisions") == ()


TWO_VOICES = (
    START
    + note("C5", 4, "<voice>1</voice>")
    + "<backup><duration>4</duration></backup>"
    + note("E4", 2, "<voice>2</voice>")
    + note("F4", 2, "<voice>2</voice>")
)


def test_two_voices_are_two_lines() -> None:
    lines = read_lines(excerpt(TWO_VOICES))
    assert [[str(e.heads[0].pitch) for e in line.events] for line in lines] == [["C5"], ["E4", "F4"]]


def test_one_line_of_two_voices_is_refused_with_the_option_that_chooses() -> None:
    with pytest.raises(VoiceError, match=r"2 voices sound.*--voice 1, --voice 2") as caught:
        read_line(excerpt(TWO_VOICES))
    assert isinstance(caught.value, InputError)
    assert len(read_line(excerpt(TWO_VOICES), voice="2").events) == 2
    with pytest.raises(VoiceError, match="no voice 7"):
        read_line(excerpt(TWO_VOICES), voice="7")


def test_a_voice_of_rests_is_no_second_voice() -> None:
    rests = (
        "<backup><duration>4</duration></backup><note><rest/><duration>4</duration><voice>2</voice></note>"
    )
    music = read_line(excerpt(START + note("C5", 4, "<voice>1</voice>") + rests))
    assert [str(event.heads[0].pitch) for event in music.events] == ["C5"]


def test_a_line_of_one_staff_has_only_its_own_clef_and_directions() -> None:
    start = START.replace(
        "<clef><sign>G</sign><line>2</line></clef>",
        "<staves>2</staves><clef number='1'><sign>G</sign><line>2</line></clef>"
        "<clef number='2'><sign>F</sign><line>4</line></clef>",
    )
    dynamic = (
        "<direction><direction-type><dynamics><p/></dynamics></direction-type><staff>2</staff></direction>"
    )
    music = excerpt(
        start
        + note("C5", 4, "<voice>1</voice><staff>1</staff>")
        + "<backup><duration>4</duration></backup>"
        + dynamic
        + note("C3", 4, "<voice>2</voice><staff>2</staff>")
    )
    upper, lower = read_lines(music)
    assert [placed.name for placed in upper.placed] == ["attributes"]
    assert [placed.name for placed in lower.placed] == ["attributes", "direction"]
    signatures = lower.placed[0].sign
    assert isinstance(signatures, Signatures)
    assert [clef.sign for clef in signatures.clefs] == ["F"]
    assert signatures.of("staves") == ()


def test_hidden_notes_and_cues_are_marked() -> None:
    hidden = note("C4", 2).replace("<note>", "<note print-object='no'>")
    cue = note("D4", 2, before="<cue/>")
    music = read_line(excerpt(START + hidden + cue))
    assert [(event.hidden, event.cue) for event in music.events] == [(True, False), (False, True)]


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("<duration>4</duration>", "<duration>long</duration>"),
        ("<octave>4</octave>", "<octave>high</octave>"),
        ("<divisions>2</divisions>", "<divisions>0</divisions>"),
    ],
)
def test_a_number_that_is_none_is_told_with_its_bar(good: str, bad: str) -> None:
    source = excerpt(START + note("C4", 4))
    broken = replace(source, xml=source.xml.replace(good.encode(), bad.encode(), 1))
    with pytest.raises(ScoreError, match=r"bar 1: a number in the music cannot be read"):
        read_lines(broken)


def test_the_groups_of_a_bar_are_those_of_its_beams_whatever_grace_notes_have() -> None:
    """7/8 in three, two and two; the beam of the grace notes inside the first group is their own."""

    def quaver(role: str, grace: str = "") -> str:
        length = grace or "<duration>1</duration>"
        pitch_ = "<pitch><step>D</step><octave>5</octave></pitch>"
        parts = (length, pitch_) if grace else (pitch_, length)
        beam = f"<beam number='1'>{role}</beam>"
        return f"<note>{''.join(parts)}<voice>1</voice><type>eighth</type>{beam}</note>"

    first = [quaver("begin"), *(quaver(role, "<grace/>") for role in ("begin", "end"))]
    others = [quaver(role) for role in ("continue", "end", "begin", "end", "begin", "end")]
    start = START.replace("<beats>2</beats><beat-type>4<", "<beats>7</beats><beat-type>8<")
    groups = read_line(excerpt(start + "".join([*first, *others]))).groups
    assert groups == ((1, (Fraction(3, 2), Fraction(1), Fraction(1))),)
