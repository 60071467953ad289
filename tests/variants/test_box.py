"""What a variant shows: the bars of the box, rests for what lies outside it, the arrival note (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.errors import VariantError
from excerpts.excerpt import Box, Excerpt, Position
from excerpts.notes import read_line
from excerpts.variants import vary
from tests.notes.lines import values
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches

BEFORE = "C5/1 D5 E5 F5"
EVEN = "C4/1/2 D4 E4 F4 G4 A4 B4 C5"
AFTER = "D5/1 E5 F5 G5"


def test_context_goes_and_the_arrival_stays_outside_the_box() -> None:
    made = vary(passage("4/4", BEFORE, EVEN, AFTER, box=(1, 1)), "long-short")
    assert [bar.label for bar in made.bars] == ["2", "3"]
    assert [bar.place for bar in made.bars] == [2, 3]
    assert lengths(made) == ["3/4 1/4 3/4 1/4 3/4 1/4 3/4 1/4", "1 -1 -2"]
    assert values(made)[1] == "4 r4 r2"
    assert made.boxes == (Box(Position(0, Fraction(0)), Position(0, Fraction(4))),)
    assert made.origin.variant == "long-short"


def test_what_is_in_force_is_restated() -> None:
    made = vary(passage("4/4", BEFORE, EVEN, AFTER, box=(1, 1), fifths=2), "separate")
    first = made.tree().find("part/measure")
    assert first is not None
    assert first.findtext("attributes/key/fifths") == "2"
    assert first.findtext("attributes/time/beats") == "4"
    assert first.findtext("attributes/clef/sign") == "G"


def test_a_tempo_from_before_is_restated() -> None:
    mark = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute>"
        "</metronome></direction-type><sound tempo='96'/></direction>"
    )
    made = vary(passage("4/4", BEFORE, EVEN, AFTER, box=(1, 1), more=mark), "long-short")
    assert made.tree().findtext("part/measure/direction/direction-type/metronome/per-minute") == "96"
    assert made.tempo is not None
    assert made.tempo.number == 96


def test_no_arrival_where_a_rest_follows_or_nothing() -> None:
    rest = vary(passage("4/4", BEFORE, EVEN, "r/2 D5", box=(1, 1)), "long-short")
    assert len(rest.bars) == 1
    assert len(vary(passage("4/4", BEFORE, EVEN, box=(1, 1)), "long-short").bars) == 1


def test_a_box_from_beat_to_beat_has_rests_around_it() -> None:
    beats = (Fraction(2), Fraction(2))
    made = vary(passage("4/4", BEFORE, EVEN, EVEN, AFTER, box=(1, 2), beats=beats), "long-short")
    assert lengths(made) == ["-2 3/4 1/4 3/4 1/4", "3/4 1/4 3/4 1/4 1/2 -1/2 -1"]
    assert pitches(made) == "G4 A4 B4 C5 C4 D4 E4 F4 G4".split()
    assert values(made) == ["r2 8. 16 8. 16", "8. 16 8. 16 8 r8 r4"]
    assert made.boxes == (Box(Position(0, Fraction(2)), Position(1, Fraction(2))),)
    assert schema_errors(made.xml) == []


def test_a_note_held_over_the_end_is_its_own_arrival() -> None:
    made = vary(passage("4/4", EVEN, "C4/1/2 D4 E4 F4 G4/2~", "~G4/1 A4 B4 C5", box=(0, 1)), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4 3/4 1/4 3/4 1/4", "3/4 1/4 3/4 1/4 3", "-1 -2"]
    assert values(made)[1:] == ["8. 16 8. 16 2~", "4 r4 r2"]


def test_a_note_held_over_from_before_the_box_begins_with_it() -> None:
    made = vary(passage("2/4", "C4/1 G4~", "~G4/1/2 A4 B4 C5", box=(1, 1)), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4"]
    assert pitches(made) == ["G4", "A4", "B4", "C5"]
    assert b"tie" not in made.xml


def test_the_bar_of_a_short_arrival_is_filled_with_rests() -> None:
    semis = "G4/1/4 A4 B4 C5 D5 E5 F5 E5 D5 C5 B4 A4"
    made = vary(passage("6/8", semis, semis, box=(0, 0)), "long-short")
    assert values(made)[1] == "16 r16 r8 r8 r4."


def test_slurs_over_the_edges_are_closed() -> None:
    bars = ("C5/1 D5 (E5 F5", "C4/1/2 D4) E4 F4 G4 A4 (B4 C5", "D5/1 E5) F5 G5")
    made = vary(passage("4/4", *bars, box=(1, 1)), "long-short")
    edges = [
        (str(event.heads[0].pitch), mark.edge)
        for event in read_line(made).events
        for head in event.heads
        for mark in head.marks
        if mark.name == "slur"
    ]
    assert edges == [("C4", "start"), ("D4", "stop"), ("B4", "start"), ("D5", "stop")]


def test_hairpins_end_with_the_arrival() -> None:
    wedge = "<direction><direction-type><wedge type='{}'/></direction-type></direction>"
    source = passage("4/4", BEFORE, EVEN, AFTER, box=(1, 1))
    xml = source.xml.decode()
    xml = xml.replace('<measure number="2">', f'<measure number="2">{wedge.format("crescendo")}')
    xml = xml.replace("</measure></part>", f"{wedge.format('stop')}</measure></part>")
    made = vary(replace(source, xml=xml.encode()), "long-short")
    found = [(p.bar, p.onset) for p in read_line(made).placed if p.name == "direction"]
    assert found == [(0, Fraction(0)), (1, Fraction(0))]
    assert schema_errors(made.xml) == []


def test_a_hole_in_the_bar_is_filled_with_a_rest() -> None:
    source = passage("4/4", "C4/1/2 D4 E4 F4 G4/1", "C4/4", box=(0, 0))
    hole = b"<forward><duration>24</duration></forward>"
    made = vary(replace(source, xml=source.xml.replace(b"</measure>", hole + b"</measure>", 1)), "long-short")
    assert values(made)[0] == "8. 16 8. 16 4 r4"


def test_a_box_without_a_note_is_refused() -> None:
    silent = passage("4/4", BEFORE, "r/4", AFTER, box=(1, 1))
    for voice in (None, "1"):
        with pytest.raises(VariantError, match="no note in the box"):
            vary(silent, "separate", voice=voice)
    late = passage("4/4", "r/2 C4/1 D4", box=(0, 0), beats=(Fraction(0), Fraction(2)))
    with pytest.raises(VariantError, match="no note in the box"):
        vary(late, "separate", voice="1")


def test_an_excerpt_without_a_box_is_practised_whole() -> None:
    source = replace(passage("4/4", EVEN, EVEN), boxes=())
    made = vary(source, "long-short")
    assert made.boxes == ()
    assert lengths(made) == [" ".join(["3/4 1/4"] * 4)] * 2


def test_as_written_is_the_excerpt_itself() -> None:
    source = passage("4/4", BEFORE, EVEN, AFTER, box=(1, 1))
    made = vary(source, "as-written")
    assert replace(made, origin=source.origin) == source
    assert made.origin.variant == "as-written"


def test_stacks_apply_in_order() -> None:
    source = passage("2/4", "(C4/1/2 D4) (E4 F4)")
    one, other = vary(source, "separate+long-short"), vary(source, "long-short+separate")
    assert one.xml == other.xml
    assert b"slur" not in one.xml
    assert _strip(vary(vary(source, "separate"), "long-short")) == _strip(one)


def _strip(made: Excerpt) -> Excerpt:
    return replace(made, report=())
