"""For rhythm and for intonation: pulses, one pitch, dotted figures, ringing notes, words alone (default tier)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from excerpts.errors import VariantError
from excerpts.notes import read_line
from excerpts.variants import instruction, title, variants, vary
from excerpts.variants.spanning_marks import slurs
from excerpts.words import Words
from tests.notes.sources import excerpt
from tests.schema import schema_errors
from tests.variants.music import lengths, notes, passage, pitches, start

DOTTED = passage("4/4", "C4/3/4 D4/1/4 E4/3/4 F4/1/4 G4/1/4 A4/3/4 B4/1", "C5/4", box=(0, 0))


@pytest.mark.parametrize(
    ("variant", "expected"),
    [
        ("evened", "1/2 1/2 1/2 1/2 1/2 1/2 1"),
        ("sharpened", "7/8 1/8 7/8 1/8 1/8 7/8 1"),
        ("swapped", "1/4 3/4 1/4 3/4 3/4 1/4 1"),
    ],
)
def test_dotted_figures_share_their_beat_anew(variant: str, expected: str) -> None:
    made = vary(DOTTED, variant)
    assert lengths(made) == [expected, "4"]
    assert pitches(made) == pitches(DOTTED)
    assert schema_errors(made.xml) == []


def test_swapped_twice_is_as_written() -> None:
    assert lengths(vary(vary(DOTTED, "swapped"), "swapped")) == lengths(DOTTED)


def test_even_notes_have_no_dotted_figure() -> None:
    with pytest.raises(
        VariantError, match="evened needs figures of long and short notes.*bar 1: there are none"
    ):
        vary(passage("2/4", "C4/1/2 D4 E4 F4"), "evened")


def test_long_notes_become_pulses_of_the_short_one_in_one_bow() -> None:
    source = passage("4/4", "C4/2 (D4/1/2 E4/3/2)", "F4/1/2 G4/3/2 A4/2", box=(0, 0))
    made = vary(source, "subdivide")
    assert lengths(made) == ["1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2", "1/2 -1/2 -1 -2"]
    assert pitches(made) == "C4 C4 C4 C4 D4 E4 E4 E4 F4".split()
    line = read_line(made)
    assert [(slur.start, slur.stop) for slur in slurs(line.events)] == [(0, 3), (5, 7)]
    dashed = [any(mark.name == "tenuto" for mark in e.heads[0].marks) for e in line.events if e.heads]
    assert dashed == [True] * 4 + [False] + [True] * 3 + [False]
    assert schema_errors(made.xml) == []


def test_notes_of_one_length_are_not_subdivided() -> None:
    with pytest.raises(VariantError, match="long notes between short ones; bar 1: all are of one length"):
        vary(passage("2/4", "C4/1/2 D4 E4 F4"), "subdivide")


def test_the_rhythm_stays_on_one_pitch() -> None:
    source = passage("4/4", "(C4/1 E4+G4) r/1/2 A4/1/2. B4/1")
    made = vary(source, "one-pitch")
    assert pitches(made) == ["C4"] * 4
    assert lengths(made) == lengths(source)
    assert len(slurs(read_line(made).events)) == 1
    assert [m.name for m in read_line(made).events[3].heads[0].marks] == ["staccato"]


def test_notes_that_ring_are_those_of_the_open_strings_stopped() -> None:
    """Violin G D A E: the open D4 has nothing to be compared with, G4, A3 and E4 have."""
    source = passage("4/4", "D4/1 G4 A3 B4")
    violin = replace(source, origin=replace(source.origin, part="Violin"))
    made = vary(violin, "ringing")
    paused = [any(m.name == "fermata" for m in e.heads[0].marks) for e in read_line(made).events]
    assert paused == [False, True, True, False]
    assert pitches(vary(source, "ringing:viola")) == pitches(source)
    with pytest.raises(VariantError, match=r"no stopped note of bar 1 .* open string \(G, D, A, E\)"):
        vary(passage("2/4", "C4/1 B4"), "ringing:violin")


def test_of_many_ringing_notes_those_on_the_beats_have_a_pause() -> None:
    made = vary(passage("2/4", "G4/1/2. G4. E4 G4."), "ringing:violin")
    paused = [any(m.name == "fermata" for m in e.heads[0].marks) for e in read_line(made).events]
    assert paused == [True, False, True, False]
    dots = [any(m.name == "staccato" for m in e.heads[0].marks) for e in read_line(made).events]
    assert dots == [False, True, False, True]


def test_words_alone_leave_the_notes_and_say_something() -> None:
    source = passage("2/4", "C4/1 D4")
    alone = [info for info in variants() if info.spoken]
    assert len(alone) >= 7
    for info in alone:
        assert info.same_notes
        assert vary(source, info.name).xml == source.xml
        for column in ("uk", "us", "de"):
            assert instruction(info.name, Words(column)).endswith(".")


@pytest.mark.parametrize(
    ("variant", "said"),
    [
        ("slur:1-3", "One separate, three slurred"),
        ("slur:4", "Slurred in fours"),
        ("slur:2-1-1", "Two slurred, two separate"),
        ("burst:4:stop-first", "Bursts of four, stop on the first"),
        ("burst:4:from-3", "Bursts of four, beginning with the third note"),
        ("repeat:3", "Each note three times"),
        ("accent:2", "Accent on the second note of each group"),
        ("bow-part:heel", "At the heel"),
        ("half-and-full:3", "Half tempo, then full tempo, three rounds"),
        ("half-and-full:7", "Half tempo, then full tempo, 7 rounds"),
        ("double-dotted:kept", "Double-dotted, the bars as long as before"),
        ("rhythm:3-1:stretched", "Rhythm 3-1, the short notes as before"),
        ("slur:12", "Slurred 12"),
    ],
)
def test_parameters_are_said_in_words(variant: str, said: str) -> None:
    assert title(variant, Words("uk")) == said


def test_the_heel_is_the_frog_in_the_other_column() -> None:
    assert title("bow-part:heel", Words("us")) == "At the frog"


@pytest.mark.parametrize(
    ("variant", "message"),
    [
        ("bow-part:left", "'left' in 'bow-part:left' is not a part of the bow.*heel, lower-half"),
        ("half-and-full:0", "'0' in 'half-and-full:0' is not a number of rounds"),
        ("ringing:flute", "'ringing:flute'.*ringing:viola"),
    ],
)
def test_what_makes_no_sense_is_refused(variant: str, message: str) -> None:
    with pytest.raises(VariantError, match=message):
        vary(passage("2/4", "C4/1 D4"), variant)


def test_one_pitch_stays_in_the_clef_of_its_first_note() -> None:
    treble = "<sign>G</sign><line>2</line>"
    alto = start().replace(treble, "<sign>C</sign><line>3</line>")
    change = f"<attributes><clef>{treble}</clef></attributes>"
    bars = (alto + notes("G3/2 B3"), change + notes("D5/2 G5"), notes("G5/4"))
    made = vary(excerpt(*bars, box=(0, 1)), "one-pitch")
    assert pitches(made) == ["G3"] * 5
    assert [sign.text for sign in made.tree().iter("sign")] == ["C"]
    assert schema_errors(made.xml) == []
