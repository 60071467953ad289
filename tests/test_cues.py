"""Cues: small in print, and no music of the player's, however a file writes them (default tier).

W3C MusicXML 4.0, https://www.w3.org/2021/06/musicxml40/: `<cue>`; `size` of `<type>` is "cue" for cues, and by
itself for grace notes, whose cues are of "grace-cue" size.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import etree

from excerpts.engrave import Style, engrave
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.musicxml.format import is_cue
from excerpts.score import score_from_bytes
from excerpts.score.marking_syntax import MarkError
from excerpts.sound.midi import write_midi
from excerpts.technique import drills, few_useful_bars
from excerpts.variants import vary
from tests.music import bar, bars_of
from tests.schema import schema_errors
from tests.score.cutting import bar_at, said
from tests.sound.test_midi import played
from tests.variants.music import lengths, pitches

VIOLIN = INSTRUMENTS["violin"]
WAYS = pytest.mark.parametrize("way", ["<cue/>", " size='cue'", "both"])
LEAPS = "G4:1 G6:1 G4:1 G6:1"
STEPS = "A4:1 B4:1 A4:1 B4:1"


def cue(text: str, way: str) -> str:
    """Notes as XML, each a cue written in one of the three ways."""
    made = bar(text)
    if way != " size='cue'":
        made = made.replace("<note>", "<note><cue/>")
    return made.replace("<type>", "<type size='cue'>") if way != "<cue/>" else made


def cut(*bars: str, address: str = "", context: int = 0, marks: tuple[str, ...] = ()) -> Excerpt:
    data = bars_of(*bars)
    assert schema_errors(data) == []
    passage = score_from_bytes(data, "test").part("#1").passage(address or f"1-{len(bars)}")
    return passage.cut(context, marks)


@pytest.mark.parametrize(
    ("inside", "expected"),
    [
        ("<cue/><type>eighth</type>", True), ("<type size='cue'>eighth</type>", True),
        ("<grace/><type size='cue'>eighth</type>", False), ("<grace/><type>eighth</type>", False),
        ("<grace/><type size='grace-cue'>eighth</type>", True), ("<grace/><cue/><type>eighth</type>", True),
        ("<type size='full'>eighth</type>", False), ("", False),
    ],
)  # fmt: skip
def test_what_a_cue_is(inside: str, *, expected: bool) -> None:
    assert is_cue(etree.fromstring(f"<note>{inside}</note>")) is expected


@WAYS
def test_cues_are_printed_small(way: str) -> None:
    """Heads and rests: three quarters of the usual size, which is the engraver's own choice."""
    passage = cut(f"{cue('A4:1 r:1', way)} A4:1 r:1")
    engraving = engrave(passage, Style())
    assert engraving.missing == ()
    (system,) = engraving.systems
    heights = [
        max(c.ink.rect.bottom - c.ink.rect.top for c in system.drawing.inks if c.ink.owner[1:3] == place)
        for place in (("notehead", "note0"), ("notehead", "note2"), ("rest", "note1"), ("rest", "note3"))
    ]
    assert heights[0] == pytest.approx(0.75 * heights[1], rel=0.05)
    assert heights[2] == pytest.approx(0.75 * heights[3], rel=0.05)


@WAYS
def test_variants_leave_cues_out(way: str) -> None:
    """Bars of cues are rests, and a voice that only has cues is no second voice."""
    made = vary(cut("C5:1 D5:1 E5:1 F5:1", cue("C6:1 D6:1 E6:1 F6:1", way), "C5:4"), "long-short")
    assert schema_errors(made.xml) == []
    assert pitches(made) == ["C5", "D5", "E5", "F5", "C5"]
    assert lengths(made)[1] == "-4"
    second = "<backup><duration>96</duration></backup>" + cue("C6:4", way).replace("<voice>1", "<voice>2")
    assert pitches(vary(cut(f"C5:1 D5:1 E5:1 F5:1 {second}"), "separate")) == ["C5", "D5", "E5", "F5"]


@pytest.mark.parametrize(
    ("word", "stays"),
    [("Cello", False), ("Vln. I", False), ("Fl.", False), ("2 Ob.", False), ("Allegro", True), ("pizz.", True),
     ("Tutti", True), ("Cellos answer", True), ("string", True), ("tranquillo", True), ("flautando", True)],
)  # fmt: skip
def test_the_name_of_a_cue_goes_with_its_notes(word: str, *, stays: bool) -> None:
    """It would stand over a rest; over the player's own notes it stays, and so does all else."""
    said_word = f"<direction><direction-type><words>{word}</words></direction-type></direction>"
    own = "C5:1 D5:1 E5:1 F5:1"
    made = vary(cut(f"{said_word} {cue('C6:1 D6:1 E6:1 F6:1', '<cue/>')}", own), "separate")
    assert [one.text for one in made.tree().iter("words")] == ([word] if stays else [])
    kept = vary(cut(f"{cue('C6:1 D6:1 E6:1 F6:1', '<cue/>')}", f"{said_word} {own}"), "separate")
    assert [one.text for one in kept.tree().iter("words")] == [word]


@WAYS
@pytest.mark.parametrize("boxed", [True, False])
def test_nothing_but_cues_is_no_music(way: str, *, boxed: bool) -> None:
    passage = cut(cue("C5:1 D5:1 E5:1 F5:1", way))
    with pytest.raises(VariantError, match="no note in the box"):
        vary(passage if boxed else replace(passage, boxes=()), "separate")


@WAYS
def test_cues_are_not_played(way: str) -> None:
    passage = cut(f"{cue('C6:2', way)} C5:2")
    assert [number for _, _, number in played(write_midi(passage))] == [72]


@WAYS
def test_drills_and_useful_bars_are_of_the_players_own_notes(way: str) -> None:
    """Leaps of another instrument are no leaps of the hand."""
    cues = cue(LEAPS, way)
    assert [drill.kind for drill in drills(cut(LEAPS), VIOLIN)] == ["crossing"]
    assert drills(cut(f"{cues}", "A4:4"), VIOLIN) == ()
    assert [one.label for one in few_useful_bars(cut(cues, cues, STEPS, STEPS), VIOLIN)] == ["3", "4"]


@WAYS
def test_strokes_are_counted_without_cues(way: str) -> None:
    """A down-bow, an up-bow, a cue of one beat (as long as a rest of a beat: the count is lost), or of half a beat."""
    down = "[<notations><technical><down-bow/></technical></notations>]"
    short = cut(f"C5:1{down} C5:1 C5:3/2 {cue('C6:1/2', way)}", "C5:1 C5:3", address="2")
    assert [line for line in said(short) if "bow" in line] == [
        "restated up bow in bar 2: the stroke that falls on the first note"
    ]
    long = cut(f"C5:1{down} C5:1 C5:1 {cue('C6:1', way)}", "C5:1 C5:3", address="2")
    assert not [line for line in said(long) if "bow" in line]


@WAYS
def test_pizzicato_is_restated_at_the_players_first_note(way: str) -> None:
    said_before = "<direction><direction-type><words>pizz.</words></direction-type></direction>"
    passage = cut(f"{said_before} C5:4", f"{cue('C6:2', way)} C5:2", address="2")
    children = [child for child in bar_at(passage, 0) if child.tag in ("note", "direction")]
    assert [child.tag for child in children] == ["note", "direction", "note"]


@WAYS
def test_the_teachers_marks_are_for_the_players_own_notes(way: str) -> None:
    passage = f"{cue('C6:1 D6:1', way)} C5:2"
    assert cut(passage, marks=("1:3 finger 2",)).tree().find(".//fingering") is not None
    with pytest.raises(MarkError, match="no note begins"):
        cut(passage, marks=("1:1 finger 2",))
