"""Cutting: what is in force is restated, what stands in the bars survives, nothing hangs at the edges."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from lxml import etree

from excerpts.excerpt import Excerpt, Position, Tempo
from excerpts.score import score_from_bytes
from tests.music import DIVISIONS, FIRST, bars_of, note, part, score
from tests.schema import schema_errors


def cut(data: bytes, address: str, context: int = 1, of: str | None = "#1") -> Excerpt:
    """Cut and hold the result to the schema."""
    excerpt = score_from_bytes(data, "test").part(of).passage(address).cut(context)
    assert schema_errors(excerpt.xml) == []
    return excerpt


def first_bar(excerpt: Excerpt) -> etree._Element:
    bar = excerpt.tree().find("part/measure")
    assert bar is not None
    return bar


def bar_at(excerpt: Excerpt, index: int) -> etree._Element:
    return excerpt.tree().findall("part/measure")[index]


def said(excerpt: Excerpt) -> list[str]:
    return [str(line) for line in excerpt.report]


SLUR = "[<notations><slur type='{}' number='1'/></notations>]"
START, STOP = SLUR.format("start"), SLUR.format("stop")
TIED = "[<notations><tied type='{}'/></notations>]"
WEDGE = "<direction placement='below'><direction-type><wedge type='{}'/></direction-type></direction>"

EIGHT = bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 8)


def test_bars_boxes_and_origin() -> None:
    excerpt = cut(EIGHT, "3-4")
    assert [bar.label for bar in excerpt.bars] == ["2", "3", "4", "5"]
    assert [bar.place for bar in excerpt.bars] == [2, 3, 4, 5]
    assert [bar.start for bar in excerpt.bars] == [0, 4, 8, 12]
    assert {bar.length for bar in excerpt.bars} == {Fraction(4)}
    (box,) = excerpt.boxes
    assert (box.start, box.end) == (Position(1, Fraction(0)), Position(2, Fraction(4)))
    assert (excerpt.origin.part, excerpt.origin.address) == ("Violin", "3-4")


@pytest.mark.parametrize(
    ("address", "context", "labels"),
    [("1", 1, "12"), ("8", 1, "78"), ("1-8", 1, "12345678"), ("4", 0, "4"), ("4", 3, "1234567")],
)
def test_context_is_fewer_bars_at_the_ends(address: str, context: int, labels: str) -> None:
    assert "".join(bar.label for bar in cut(EIGHT, address, context).bars) == labels


def test_what_is_in_force_is_restated() -> None:
    attributes = first_bar(cut(EIGHT, "5")).find("attributes")
    assert attributes is not None
    assert [child.tag for child in attributes] == ["divisions", "key", "time", "clef"]
    assert attributes.findtext("divisions") == str(DIVISIONS)
    assert attributes.findtext("key/fifths") == "2"


def test_the_later_value_wins_and_what_the_bar_sets_itself_is_not_said_twice() -> None:
    change = "<attributes><key><cancel>2</cancel><fifths>-1</fifths></key></attributes>"
    clef = "<attributes><clef><sign>C</sign><line>3</line></clef></attributes>"
    data = bars_of("C5:4", f"C5:2 {clef} C5:2", f"{change} C5:4", "C5:4", "C5:4")
    at_change = first_bar(cut(data, "3", 0))
    assert [key.findtext("fifths") for key in at_change.iter("key")] == ["-1"]
    assert [clef.findtext("sign") for clef in at_change.iter("clef")] == ["C"]
    later = first_bar(cut(data, "5", 0))
    assert later.findtext("attributes/key/fifths") == "-1"
    assert later.find("attributes/key/cancel") is None


def test_no_time_signature_is_invented() -> None:
    data = score(part([f"<attributes><divisions>{DIVISIONS}</divisions></attributes> C5:4", "C5:4", "C5:4"]))
    excerpt = cut(data, "3", 0)
    assert excerpt.tree().find(".//time") is None
    assert excerpt.tree().find(".//clef") is None


def test_divisions_that_change_are_kept_with_their_notes() -> None:
    data = bars_of("C5:4", "C5:2 <attributes><divisions>48</divisions></attributes> C5:4", "C5:8", "C5:8")
    excerpt = cut(data, "3", 0)
    assert first_bar(excerpt).findtext("attributes/divisions") == "48"
    assert excerpt.bars[0].length == 4


def test_transposition_is_restated() -> None:
    transpose = "<attributes><transpose><diatonic>0</diatonic><chromatic>0</chromatic>\
<octave-change>-1</octave-change></transpose></attributes>"
    data = bars_of(f"{transpose} C5:4", "C5:4", "C5:4")
    assert first_bar(cut(data, "3", 0)).findtext("attributes/transpose/octave-change") == "-1"


def test_everything_inside_the_box_survives() -> None:
    marks = (
        "<notations><ornaments><trill-mark/></ornaments><technical><up-bow/><fingering>3</fingering>"
        "<string>2</string></technical><articulations><staccato/></articulations></notations>"
        "<lyric><text>la</text></lyric>"
    )
    words = (
        "<direction><direction-type><words>sul D</words></direction-type></direction>"
        "<direction><direction-type><dynamics><mf/></dynamics></direction-type></direction>"
    )
    data = bars_of("C5:4", f"{words} C#5:1[{marks}] D5:1 E5:1 F#5:1", "C5:4")
    before = etree.fromstring(data).findall("part/measure")[1]
    after = bar_at(cut(data, "2"), 1)
    assert [_plain(child) for child in after] == [_plain(child) for child in before]


def _plain(element: etree._Element) -> tuple[object, ...]:
    return (
        element.tag,
        dict(element.attrib),
        (element.text or "").strip(),
        tuple(_plain(child) for child in element),
    )


def test_a_slur_from_before_begins_again_at_the_first_note() -> None:
    data = bars_of(f"C5:2 D5:2{SLUR.format('start')}", f"E5:2 F5:2{SLUR.format('stop')}", "C5:4")
    excerpt = cut(data, "2", 0)
    assert [slur.get("type") for slur in excerpt.tree().iter("slur")] == ["start", "stop"]
    assert excerpt.open_ends == ()
    assert "closed slur in bar 2: it came in from before" in said(excerpt)


@pytest.mark.parametrize(
    ("bars", "address", "line"),
    [
        ((f"C5:4{START}", "r:4", f"E5:2 F5:2{STOP}"), "2-3", "bar 3: it came in from before"),
        ((f"C5:4{START}", "D5:4", f"E5:2 F5:2{STOP}"), "2-3", "bar 2: it came in from before"),
        ((f"C5:2{START} D5:2", "E5:4", f"F5:4{STOP}"), "1-2", "bar 2: it goes on after"),
        ((f"C5:2{START} D5:2", "r:4", f"F5:4{STOP}"), "1-2", "bar 1: it goes on after"),
    ],
)
def test_the_report_names_the_bar_in_which_a_slur_is_begun_again_or_ended(
    bars: tuple[str, ...], address: str, line: str
) -> None:
    assert f"closed slur in {line}" in said(cut(bars_of(*bars), address, 0))


def test_a_slur_over_the_whole_cut_covers_it() -> None:
    data = bars_of(f"C5:4{SLUR.format('start')}", "D5:2 E5:2", f"F5:4{SLUR.format('stop')}")
    assert [slur.get("type") for slur in cut(data, "2", 0).tree().iter("slur")] == ["start", "stop"]


def test_a_slur_of_which_one_note_is_inside_is_left_open() -> None:
    data = bars_of(f"C5:2 D5:2{SLUR.format('start')}", f"E5:2{SLUR.format('stop')} F5:2", "C5:4")
    excerpt = cut(data, "1", 0)
    assert excerpt.tree().find(".//slur") is None
    (end,) = excerpt.open_ends
    assert (end.kind, end.edge, end.at, end.pitch) == ("slur", "end", Position(0, Fraction(2)), "D5")
    (end,) = cut(data, "2", 0).open_ends
    assert (end.kind, end.edge, end.at, end.pitch) == ("slur", "start", Position(0, Fraction(0)), "E5")


def test_a_slur_number_used_again_on_the_note_that_it_ends_on() -> None:
    both = "[<notations><slur type='start' number='1'/><slur type='stop' number='1'/></notations>]"
    data = bars_of(f"C5:2{SLUR.format('start')} D5:2{both}", f"E5:2{SLUR.format('stop')} F5:2")
    assert cut(data, "1", 0).tree().findall(".//slur[@type='start']") != []
    assert len(cut(data, "1-2", 0).tree().findall(".//slur")) == 4


def test_one_lost_stop_does_not_spoil_the_later_slurs() -> None:
    start, stop = SLUR.format("start"), SLUR.format("stop")
    whole = f"C5:1{start} D5:1{stop} E5:1 F5:1"
    data = bars_of(f"C5:1{start} D5:1 E5:1 F5:1", *[whole] * 8)
    excerpt = cut(data, "7", 0)
    assert [slur.get("type") for slur in excerpt.tree().iter("slur")] == ["start", "stop"]
    assert cut(data, "1", 0).tree().find(".//slur") is None


def test_a_tie_across_the_edge_is_left_open_and_its_accidental_comes_back() -> None:
    data = bars_of(f"C5:2 A#4:2{TIED.format('start')}", f"A#4:2{TIED.format('stop')} F5:2", "C5:4")
    excerpt = cut(data, "2", 0)
    tree = excerpt.tree()
    assert tree.find(".//tie") is None
    assert tree.find(".//tied") is None
    assert tree.findtext(".//note/accidental") == "sharp"
    (end,) = excerpt.open_ends
    assert (end.kind, end.edge, end.pitch) == ("tie", "start", "A#4")
    assert cut(data, "1", 0).open_ends[0].edge == "end"
    assert cut(data, "1", 1).open_ends == ()


def test_a_tie_in_the_key_needs_no_accidental() -> None:
    data = bars_of(f"C5:2 F#5:2{TIED.format('start')}", f"F#5:2{TIED.format('stop')} G5:2")
    assert cut(data, "2", 0).tree().find(".//accidental") is None


def test_a_hairpin_is_begun_again_and_ended() -> None:
    data = bars_of(f"{WEDGE.format('crescendo')} C5:4", "D5:4", f"E5:4 {WEDGE.format('stop')}")
    excerpt = cut(data, "2", 0)
    assert [wedge.get("type") for wedge in excerpt.tree().iter("wedge")] == ["crescendo", "stop"]
    assert [line.action for line in excerpt.report if line.what == "hairpin"] == ["restated", "closed"]


def test_lines_of_the_report_have_ids_beside_their_words() -> None:
    sign = "<direction><direction-type><octave-shift type='{}' size='8'/></direction-type></direction>"
    clefs = "<attributes><staves>2</staves><clef number='2'><sign>F</sign><line>4</line></clef></attributes>"
    data = bars_of(f"{clefs} {sign.format('down')} C6:4", "D6:4", f"E6:4 {sign.format('stop')}")
    told = {line.id: str(line) for line in cut(data, "2", 0).report}
    assert told["restated.octave-shift"] == "restated octave sign in bar 2: it began before"
    assert told["closed.octave-shift"] == "closed octave sign in bar 2: it goes on after"
    assert told["restated.time"] == "restated time signature in bar 2"
    assert told["restated.clef"] == "restated clef of staff 2 in bar 2"
    assert all(re.fullmatch("[a-z]+[.][a-z0-9-]+", line) for line in told)


def test_an_octave_sign_is_begun_again() -> None:
    sign = "<direction><direction-type><octave-shift type='{}' size='8'/></direction-type></direction>"
    data = bars_of(f"{sign.format('down')} C6:4", "D6:4", f"E6:4 {sign.format('stop')}")
    shifts = list(cut(data, "2", 0).tree().iter("octave-shift"))
    assert [(shift.get("type"), shift.get("size")) for shift in shifts] == [("down", "8"), ("stop", "8")]


def test_an_ending_bracket_is_completed() -> None:
    left = "<barline location='left'><ending number='1' type='start'/></barline>"
    right = (
        "<barline location='right'><ending number='1' type='stop'/><repeat direction='backward'/></barline>"
    )
    data = bars_of("C5:4", f"{left} C5:4", f"C5:4 {right}", "C5:4")
    assert [e.get("type") for e in cut(data, "2", 0).tree().iter("ending")] == ["start", "discontinue"]
    assert [e.get("type") for e in cut(data, "3", 0).tree().iter("ending")] == ["start", "stop"]
    assert [e.get("type") for e in cut(data, "2-3", 0).tree().iter("ending")] == ["start", "stop"]
    assert cut(data, "4", 0).tree().find(".//ending") is None


def test_a_rest_of_several_bars_does_not_run_past_the_cut() -> None:
    many = "<attributes><measure-style><multiple-rest>4</multiple-rest></measure-style></attributes>"
    data = bars_of("C5:4", f"{many} r:4", "r:4", "r:4", "r:4", "C5:4")
    assert cut(data, "1-2", 1).tree().findtext(".//multiple-rest") == "2"


def test_page_positions_jumps_and_links_are_left_behind() -> None:
    odd = (
        "<print new-page='yes'><measure-numbering>none</measure-numbering></print>"
        "<direction><direction-type><segno/></direction-type><sound dalsegno='x'/></direction>"
    )
    excerpt = cut(bars_of("C5:4", f"{odd} C5:4", "C5:4"), "2")
    printed = bar_at(excerpt, 1).find("print")
    assert printed is not None
    assert (dict(printed.attrib), printed.findtext("measure-numbering")) == ({}, "none")
    assert excerpt.tree().find(".//segno") is not None
    assert excerpt.tree().find(".//sound") is None
    assert "dropped jump in playback in bar 2: the sign stays" in said(excerpt)


def metronome(number: str, unit: str = "quarter", words: str = "") -> str:
    heading = f"<direction-type><words>{words}</words></direction-type>" if words else ""
    return (
        f"<direction>{heading}<direction-type><metronome><beat-unit>{unit}</beat-unit>"
        f"<per-minute>{number}</per-minute></metronome></direction-type><sound tempo='{number}'/></direction>"
    )


def test_the_tempo_in_force_is_restated_with_its_heading() -> None:
    data = bars_of(f"{metronome('72', words='Andante')} C5:4", "C5:4", "C5:4")
    excerpt = cut(data, "3", 0)
    assert excerpt.tempo == Tempo(Fraction(72))
    assert first_bar(excerpt).findtext("direction/direction-type/words") == "Andante"
    assert first_bar(excerpt).find("direction/sound[@tempo='72']") is not None


def test_the_tempo_that_only_another_part_has() -> None:
    top = part([f"{FIRST} {metronome('60')} C5:4", "C5:4", f"C5:2 {metronome('80')} C5:2", "C5:4"])
    low = part([f"{FIRST} C3:4"] + ["C3:4"] * 3, part_id="P2")
    data = score(top, low, names=("Violin", "Cello"))
    excerpt = cut(data, "2-3", 0, of="Cello")
    assert excerpt.tempo == Tempo(Fraction(60))
    marks = excerpt.tree().findall(".//metronome")
    assert [mark.findtext("per-minute") for mark in marks] == ["60", "80"]
    change = bar_at(excerpt, 1).find("direction")
    assert change is not None
    assert change.findtext("offset") == str(2 * DIVISIONS)
    assert "restated tempo in bar 2: from another part" in said(excerpt)
    assert "carried tempo in bar 3: only another part has it" in said(excerpt)
    assert cut(data, "4", 0, of="Cello").tempo == Tempo(Fraction(80))


def test_a_sounding_tempo_is_told_in_beats_of_the_metre() -> None:
    first = FIRST.replace("<beats>4</beats><beat-type>4", "<beats>6</beats><beat-type>8")
    data = score(part([f"{first} <sound tempo='138'/> C5:3", "C5:3"]))
    assert cut(data, "2", 0).tempo == Tempo(Fraction(92), Fraction(3, 2))


def test_no_tempo_is_invented() -> None:
    assert cut(EIGHT, "2").tempo is None


BOW = "[<notations><technical><{}/></technical></notations>]"
TIED = '[<notations><tied type="start"/></notations>]'
"""As some programs write ties: only where they start."""


@pytest.mark.parametrize(
    ("before", "boxed", "shown"),
    [
        (f"C5:1{BOW.format('down-bow')} D5:1 E5:2", "F5:4", "up-bow"),
        (f"C5:1{BOW.format('down-bow')} D5:1 E5:1 F5:1", "F5:4", None),
        (f"C5:1{BOW.format('down-bow')} D5:1{SLUR.format('start')} E5:2{SLUR.format('stop')}", "F5:4", None),
        (f"C5:1{BOW.format('down-bow')} D5:2 r:1", "F5:4", None),
        (f"C5:1{BOW.format('down-bow')} D5:1 E5:2", f"F5:4{BOW.format('down-bow')}", "down-bow"),
        ("C5:1 D5:1 E5:2", "F5:4", None),
        (f"C5:1{BOW.format('down-bow')} D5:1 E5:2{SLUR.format('start')}", f"F5:4{SLUR.format('stop')}", None),
        (f"C5:1{BOW.format('down-bow')} D5:1{TIED} D5:1 E5:1", "F5:4", "up-bow"),
        (f"C5:1{BOW.format('down-bow')} D5:1{TIED} E5:1 E5:1", "F5:4", None),
    ],
    ids=[
        "odd",
        "even",
        "a slur is one",
        "rest",
        "marked",
        "no mark",
        "inside a slur",
        "a tie is one",
        "not tied",
    ],
)
def test_the_stroke_that_falls_on_the_first_boxed_note(before: str, boxed: str, shown: str | None) -> None:
    excerpt = cut(bars_of(before, boxed, "C5:4"), "2")
    marks = [child.tag for child in bar_at(excerpt, 1).iterfind("note/notations/technical/*")]
    assert marks == ([shown] if shown else [])


def test_several_voices_and_staves_stay_as_they_are() -> None:
    lower = note("A3:4", voice="2").replace("<type>", "<type>")
    inside = f"C5:4 <backup><duration>{4 * DIVISIONS}</duration></backup> {lower}"
    data = bars_of(inside, inside, inside)
    excerpt = cut(data, "2", 0)
    assert [n.findtext("voice") for n in excerpt.tree().iter("note")] == ["1", "2"]
    assert excerpt.bars[0].length == 4


def test_instrument_ids_that_xml_forbids_are_renamed() -> None:
    data = bars_of("C5:4[<x/>]").replace(b"<x/>", b"")
    data = data.replace(
        b"</part-name>",
        b'</part-name><score-instrument id="1-9"><instrument-name>Violin</instrument-name></score-instrument>'
        b'<midi-instrument id="1-9"><midi-program>41</midi-program></midi-instrument>',
    )
    excerpt = cut(data, "1")
    names = {element.get("id") for element in excerpt.tree().iter("score-instrument", "midi-instrument")}
    assert names == {"P1-I1"}
    assert any(line.action == "repaired" for line in excerpt.report)


def test_wrong_bar_totals_are_cut_as_they_are_with_a_warning() -> None:
    excerpt = cut(bars_of("C5:4", "C5:4 D5:1", "C5:4"), "2")
    assert excerpt.bars[1].length == 5
    assert "warning bar too long in bar 2: 5 quarter notes where 4/4 has 4" in said(excerpt)


def test_a_cut_cut_again_is_the_same() -> None:
    data = bars_of(
        f"{metronome('72', words='Andante')} C5:2 D5:2{SLUR.format('start')}",
        f"{WEDGE.format('crescendo')} E5:2 F5:2{SLUR.format('stop')}",
        f"A#4:2{TIED.format('start')} {WEDGE.format('stop')} A#4:2{TIED.format('stop')}",
        "C5:4",
    )
    once = cut(data, "2-3", 0)
    again = cut(once.xml, "2-3", 0)
    assert again.xml == once.xml


def test_the_source_is_not_changed() -> None:
    opened = score_from_bytes(EIGHT, "test")
    before = etree.tostring(opened.root)
    opened.part().passage("2-3").cut()
    assert etree.tostring(opened.root) == before


def beam(kind: str, level: int = 1) -> str:
    return f"<beam number='{level}'>{kind}</beam>"


def beams(excerpt: Excerpt) -> list[str]:
    return [
        " ".join(f"{b.get('number')}{(b.text or '')[0]}" for b in n.iterfind("beam"))
        for n in excerpt.tree().iter("note")
    ]


def test_a_beam_without_an_end_is_ended_at_its_last_note() -> None:
    two = beam("begin") + beam("begin", 2)
    data = bars_of(
        f"C5:1/4[{two}] D5:1/4[{beam('continue')}{beam('continue', 2)}] E5:1/2[{beam('continue')}] F5:3"
    )
    excerpt = cut(data, "1")
    assert beams(excerpt) == ["1b 2b", "1c 2e", "1e", ""]
    assert "repaired beam in bar 1: it had no beginning or no end" in said(excerpt)


def test_a_beam_over_the_barline_is_cut_in_two() -> None:
    data = bars_of(
        f"C5:3 D5:1/2[{beam('begin')}] E5:1/2[{beam('continue')}]",
        f"F5:1/2[{beam('continue')}] G5:1/2[{beam('end')}] C5:3",
    )
    assert beams(cut(data, "1", 0)) == ["", "1b", "1e"]
    assert beams(cut(data, "2", 0)) == ["1b", "1e", ""]
    assert beams(cut(data, "1-2", 0)) == ["", "1b", "1c", "1c", "1e", ""]
    lone = bars_of(f"C5:3 D5:1[{beam('begin')}]", f"F5:1[{beam('end')}] C5:3")
    assert beams(cut(lone, "1", 0)) == ["", ""]
    assert beams(cut(lone, "2", 0)) == ["", ""]


def test_a_stroke_is_not_counted_over_bars_of_rest_in_the_box() -> None:
    data = bars_of("C5:4", f"C5:2{BOW.format('down-bow')} C5:2", "r:4", "C5:1 D5:1 E5:2")
    assert cut(data, "3-4").tree().findall(".//up-bow") == []
    excerpt = cut(bars_of(f"C5:2{BOW.format('down-bow')} D5:2", "E5:2 F5:2", "G5:4"), "2:2-3")
    (marked,) = [n for n in excerpt.tree().iter("note") if n.find("notations/technical/up-bow") is not None]
    assert marked.findtext("pitch/step") == "F"


def test_a_dynamic_moved_on_a_little_is_still_that_of_its_note() -> None:
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
    moved = loud.replace("</direction-type>", "</direction-type><offset>3</offset>")
    excerpt = cut(bars_of(f"{loud} C5:4", f"{moved} C5:4", "C5:4"), "2", 0)
    assert len(excerpt.tree().findall(".//dynamics")) == 1
    assert not any(line.what == "dynamic" for line in excerpt.report)
