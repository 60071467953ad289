"""Hazards inside a bar: what a careless reader drops, reorders or mistimes is in the cut as it stood."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.musicxml.timeline import walk
from tests.music import DIVISIONS, bars_of, note
from tests.score.cutting import bar_at, cut, direction, texts

Plain = tuple[object, ...]


def plain(element: etree._Element) -> Plain:
    """An element as a value, without white space."""
    inside = tuple(plain(child) for child in element)
    return (element.tag, dict(element.attrib), (element.text or "").strip(), inside)


def kept_whole(inside: str) -> Excerpt:
    """Cut a bar out from between two others and hold its content to the source's, child by child."""
    data = bars_of("C5:4", inside, "C5:4").replace(b"<fifths>2", b"<fifths>0", 1)
    before = etree.fromstring(data).findall("part/measure")[1]
    excerpt = cut(data, "2", 1)
    assert [plain(child) for child in bar_at(excerpt, 1)] == [plain(child) for child in before]
    return excerpt


def onsets(excerpt: Excerpt, index: int = 1) -> list[Fraction]:
    return [
        m.onset for m in walk(bar_at(excerpt, index), Fraction(DIVISIONS)).moments if m.element.tag == "note"
    ]


def move(tag: str, quarters: int | Fraction, more: str = "") -> str:
    return f"<{tag}><duration>{quarters * DIVISIONS}</duration>{more}</{tag}>"


def raw_note(pitch: str, extra: str = "", before: str = "", duration: int = 1) -> str:
    step, octave = pitch[0], pitch[1]
    return (
        f"<note>{before}<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        f"<duration>{duration * DIVISIONS}</duration>{extra}</note>"
    )


def grace(pitch: str, cue: str = "") -> str:
    inside = f"<pitch><step>{pitch}</step><octave>5</octave></pitch><voice>1</voice><type>eighth</type>"
    return f"<note><grace/>{cue}{inside}</note>"


# D27 voices and moves


def test_d27_voices_backup_and_forward_in_document_order() -> None:
    excerpt = kept_whole(
        f"C5:4 {move('backup', 4)} {move('forward', 2, '<voice>2</voice>')} {note('A4:2', '2')}"
    )
    assert onsets(excerpt) == [0, 2]


def test_d27_a_voice_of_nothing_but_forward() -> None:
    kept_whole(f"C5:4 {move('backup', 4)} {move('forward', 4, '<voice>2</voice>')}")


def test_d27_no_voices_named_and_none_called_1() -> None:
    kept_whole(f"{raw_note('C5')} {raw_note('D5')} {raw_note('E5', duration=2)}")
    kept_whole("".join(note(text, "5") for text in ("C5:2", "D5:2")))


# D28 chords


def test_d28_a_chord_note_begins_with_the_note_before_it() -> None:
    excerpt = kept_whole("C5+E5+G5:2 D5:2")
    assert onsets(excerpt) == [0, 0, 0, 2]


def test_d28_a_direction_between_the_notes_of_a_chord_and_a_longer_chord_note() -> None:
    long = raw_note("G4", before="<chord/>", extra="<voice>1</voice>", duration=2)
    excerpt = kept_whole(f"C5:1 {direction('<words>dolce</words>')} {long} D5:1 E5:2")
    assert onsets(excerpt) == [0, 0, 1, 2]


# D29 grace and cue notes


def test_d29_grace_notes_first_and_last_in_the_bar() -> None:
    excerpt = kept_whole(f"{grace('B')} C5:4 {grace('D')} {grace('E')}")
    assert onsets(excerpt) == [0, 0, 4, 4]


def test_d29_cue_notes_and_grace_cue_notes() -> None:
    cue = raw_note("A5", "<voice>1</voice>", before="<cue/>", duration=2)
    kept_whole(f"{grace('B', '<cue/>')} {cue} C5:2")


# D30 types, rests, hidden notes


@pytest.mark.parametrize(
    "inside",
    [
        f"<note><rest measure='yes'/><duration>{4 * DIVISIONS}</duration></note>",
        f"<note><rest/><duration>{4 * DIVISIONS}</duration></note>",
        f"<note><rest><display-step>B</display-step><display-octave>4</display-octave></rest><duration>{4 * DIVISIONS}"
        "</duration><voice>1</voice><type>whole</type></note>",
        f"<note print-object='no'><rest/><duration>{4 * DIVISIONS}</duration><voice>1</voice></note>",
        f"<note><pitch><step>C</step><alter>0.5</alter><octave>5</octave></pitch><duration>{4 * DIVISIONS}</duration>"
        "<voice>1</voice><type>whole</type><accidental>quarter-sharp</accidental></note>",
        "C5:4[<accidental cautionary='yes'>natural</accidental>]",
        "C5:4[<accidental parentheses='yes'>natural</accidental>]",
        "C5:4[<accidental bracket='yes' editorial='yes'>natural</accidental>]",
    ],
    ids=["measure", "no type", "placed", "hidden", "microtone", "cautionary", "parentheses", "brackets"],
)
def test_d30_rests_without_type_hidden_notes_and_accidentals(inside: str) -> None:
    kept_whole(inside)


# D31 unpitched notes, instruments, noteheads, tablature


def test_d31_unpitched_notes_noteheads_and_bends() -> None:
    unpitched = (
        f"<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
        f"<duration>{DIVISIONS}</duration><voice>1</voice></note>"
    )
    tab = "[<notations><technical><string>2</string><fret>3</fret></technical></notations>]"
    bend = "[<notations><technical><bend><bend-alter>2</bend-alter></bend></technical></notations>]"
    kept_whole(f"{unpitched} C5:1[<notehead filled='no'>diamond</notehead>] C5:1{tab} C5:1{bend}")


def test_d31_several_instruments_of_one_part() -> None:
    listed = (
        b"</part-name><score-instrument id='P1-I1'><instrument-name>Violin</instrument-name></score-instrument>"
        b"<score-instrument id='P1-I2'><instrument-name>Woodblock</instrument-name></score-instrument>"
    )
    use = raw_note("C5", "<instrument id='P1-I2'/>", duration=4)
    data = bars_of("C5:4", use).replace(b"</part-name>", listed)
    excerpt = cut(data, "2")
    assert [i.get("id") for i in excerpt.tree().iter("instrument")] == ["P1-I2"]
    assert [i.get("id") for i in excerpt.tree().iter("score-instrument")] == ["P1-I1", "P1-I2"]


# D32 string marks


@pytest.mark.parametrize(
    "marks",
    [
        "<technical><up-bow/></technical>",
        "<technical><down-bow placement='above'/></technical>",
        "<technical><harmonic><natural/></harmonic></technical>",
        "<technical><harmonic><artificial/><touching-pitch/></harmonic></technical>",
        "<technical><snap-pizzicato/></technical>",
        "<technical><open-string/></technical>",
        "<technical><thumb-position/></technical>",
        "<technical><fingering>1</fingering><fingering>3</fingering></technical>",
        "<technical><fingering substitution='yes'>2</fingering></technical>",
        "<fermata type='inverted'/>",
        "<articulations><staccato/><tenuto/></articulations><articulations><accent/></articulations>",
        "<arpeggiate direction='up'/>",
        "<ornaments><tremolo type='single'>3</tremolo></ornaments>",
    ],
)
def test_d32_the_marks_of_string_players(marks: str) -> None:
    kept_whole(f"C5:4[<notations>{marks}</notations>]")


def test_d32_several_notations_on_one_note() -> None:
    kept_whole(
        "C5:4[<notations><technical><up-bow/></technical></notations><notations><fermata/></notations>]"
    )


# D33 harmony, figured bass, lyrics


def test_d33_chord_names_figures_and_lyrics() -> None:
    harmony = "<harmony><root><root-step>D</root-step></root><kind>dominant</kind></harmony>"
    six = "<figure><figure-number>6</figure-number></figure>"
    figures = f"<figured-bass>{six}<duration>{2 * DIVISIONS}</duration></figured-bass>"
    lyric = (
        "[<lyric number='1'><syllabic>begin</syllabic><text>a</text><elision>\u203f</elision><text>b</text></lyric>"
        "<lyric number='2'><syllabic>single</syllabic><text>c</text></lyric>]"
    )
    excerpt = kept_whole(f"{harmony} {figures} C5:2{lyric} {harmony} C5:2")
    assert onsets(excerpt) == [0, 2]
    assert texts(excerpt, "text") == ["a", "b", "c"]


# D34 directions


def test_d34_directions_behind_a_backup_and_signs_of_every_kind() -> None:
    pedal = "<pedal-tuning><pedal-step>D</pedal-step><pedal-alter>0</pedal-alter></pedal-tuning>"
    harp = f"<harp-pedals>{pedal}</harp-pedals>"
    tuning = "<tuning-step>A</tuning-step><tuning-octave>3</tuning-octave>"
    strings = f"<scordatura><accord string='4'>{tuning}</accord></scordatura>"
    kept_whole(
        f"{direction('<rehearsal>A</rehearsal>')} C5:4 {move('backup', 4)} {direction('<words>espr.</words>')} "
        f"{direction(harp)} {direction(strings)} "
        f"{direction('<accordion-registration><accordion-high/></accordion-registration>')} {move('forward', 4)}"
    )
