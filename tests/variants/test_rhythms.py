"""Long-short and short-long: what they change, what they leave, when they refuse (default tier)."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import VariantError
from excerpts.notes import read_line
from excerpts.variants import vary
from tests.notes.lines import beams, values
from tests.schema import schema_errors
from tests.variants.music import lengths, passage, pitches
from tests.variants.music import notes as written

RUN = "G4/1/4 A4 B4 C5 D5 E5 F5 G5 A5 G5 F5 E5 D5 C5 B4 A4"
EVEN = "C4/1/2 D4 E4 F4 G4 A4 B4 C5"


def test_long_short_gives_the_first_note_three_quarters() -> None:
    """Dotted rhythm, the long note first: 3/4 and 1/4 of the pair (common practice, no source)."""
    made = vary(passage("4/4", RUN), "long-short")
    assert lengths(made) == [" ".join(["3/8 1/8"] * 8)]
    assert values(made) == [" ".join(["16. 32"] * 8)]
    assert beams(made) == [" ".join(["[[ -]< -[ ]]<"] * 4)]
    assert schema_errors(made.xml) == []


def test_short_long_is_its_mirror() -> None:
    """Published as reverse dotted: 1/4 3/4 of the pair."""
    made = vary(passage("4/4", EVEN), "short-long")
    assert lengths(made) == [" ".join(["1/4 3/4"] * 4)]
    assert values(made) == [" ".join(["16 8."] * 4)]
    assert beams(made) == ["[> ] [> ] [> ] [> ]"]


def test_semiquavers_in_six_eight_go_in_pairs_quavers_do_not() -> None:
    semis = "G4/1/4 A4 B4 C5 D5 E5 F5 E5 D5 C5 B4 A4"
    made = vary(passage("6/8", semis), "long-short")
    assert lengths(made) == [" ".join(["3/8 1/8"] * 6)]
    with pytest.raises(VariantError, match="bar 1: three notes to a beat"):
        vary(passage("6/8", "G4/1/2 A4 B4 C5 B4 A4"), "long-short")


def test_triplets_refuse_pairs() -> None:
    with pytest.raises(VariantError, match="three notes to a beat.*take 'long-short-short'"):
        vary(passage("2/4", "G4/1/3 A4 B4 C5 B4 A4"), "long-short")


@pytest.mark.parametrize(
    ("time", "bar", "reason"),
    [
        ("4/4", "C4/1 D4/1/2 E4/1/2 F4/2", "notes of different lengths"),
        ("4/4", "C4/1/2 r D4 r E4 r F4 r", "rests between the notes"),
        ("4/4", "C4/4", "too few notes"),
        ("3/4", "C4/1 D4 E4", "do not divide in pairs from the beat"),
    ],
)
def test_a_box_without_a_run_is_refused_with_the_reason(time: str, bar: str, reason: str) -> None:
    with pytest.raises(VariantError, match=reason) as caught:
        vary(passage(time, bar), "long-short")
    assert caught.value.exit_status == 2
    assert "bar 1" in str(caught.value)


def test_bars_with_the_same_reason_are_told_together() -> None:
    whole = "C4/4"
    with pytest.raises(VariantError, match="bars 1-3, 5: too few notes; bar 4: notes of different lengths"):
        vary(passage("4/4", whole, whole, whole, "C4/1 D4/1/2 E4 F4/2", whole), "long-short")


def test_two_pairs_are_enough_and_one_is_not() -> None:
    made = vary(passage("4/4", "C4/1/2 D4 E4 F4 G4/1 A4/1/2 B4"), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4 1 1/2 1/2"]


def test_pairs_start_on_the_beat_and_leftovers_stay() -> None:
    made = vary(passage("4/4", "r/1/2 C4 D4 E4 F4 G4 A4 r"), "long-short")
    assert lengths(made) == ["-1/2 1/2 3/4 1/4 3/4 1/4 1/2 -1/2"]


def test_crotchets_go_in_pairs_where_the_bar_does() -> None:
    made = vary(passage("4/4", "C4/1 D4 E4 F4"), "long-short")
    assert values(made) == ["4. 8 4. 8"]


def test_a_run_goes_on_over_the_barline() -> None:
    made = vary(passage("2/4", "C4/1 D4/1/2 E4", "F4/1/2 G4 A4/1"), "long-short")
    assert lengths(made) == ["1 3/4 1/4", "3/4 1/4 1"]


def test_tied_notes_are_merged_first() -> None:
    made = vary(passage("2/4", "C4/1/4~ C4 D4/1/2 E4 F4"), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4"]


def test_a_tie_to_half_of_a_chord_ends_the_run() -> None:
    """The lower note of the first double stop is held on: those two are no even pair."""
    source = passage("4/4", "C4+E4/1/2 C4+F4 D4+F4 E4+G4 F4+A4 G4+B4 A4 B4")
    low = b"<octave>4</octave></pitch><duration>12</duration>"
    xml = source.xml.replace(low, low + b"<tie type='start'/>", 1)
    second = xml.index(b"<step>C</step>", xml.index(b"<step>E</step>"))
    xml = xml[:second] + xml[second:].replace(low, low + b"<tie type='stop'/>", 1)
    made = vary(replace(source, xml=xml), "long-short")
    assert lengths(made) == ["1/2 1/2 3/4 1/4 3/4 1/4 3/4 1/4"]


def test_double_stops_are_one_event() -> None:
    made = vary(passage("2/4", "C4+E4/1/2 D4+F4 E4+G4 F4+A4"), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4"]
    assert pitches(made) == ["C4+E4", "D4+F4", "E4+G4", "F4+A4"]


def test_slurs_and_marks_stay_on_their_notes() -> None:
    made = vary(passage("2/4", "(C4/1/2 D4.) (E4.^ F4)"), "short-long")
    signs = [[mark.name for head in e.heads for mark in head.marks] for e in read_line(made).events]
    assert signs == [["slur"], ["slur", "staccato"], ["slur", "up-bow", "staccato"], ["slur"]]


def test_grace_notes_and_trills_are_left_out_and_told() -> None:
    made = vary(passage("2/4", "C4/1/2 g:E4/1/4 D4/1/2 E4! F4"), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4"]
    assert pitches(made) == ["C4", "D4", "E4", "F4"]
    assert b"trill" not in made.xml
    told = {(line.action, line.what) for line in made.report}
    assert {("dropped", "grace note"), ("dropped", "trill")} <= told


def test_the_slur_of_a_grace_note_goes_with_it() -> None:
    made = vary(passage("2/4", "C4/1/2 (g:E4/1/4 D4/1/2) (g:F4/1/4 E4/1/2 F4)"), "long-short")
    slurs = [
        (str(event.heads[0].pitch), mark.edge)
        for event in read_line(made).events
        for mark in event.heads[0].marks
        if mark.name == "slur"
    ]
    assert slurs == [("E4", "start"), ("F4", "stop")]


def test_grace_notes_outside_the_runs_stay() -> None:
    made = vary(passage("4/4", "g:B3/1/4 C4/2 C4/1/2 D4 E4 F4"), "long-short")
    assert lengths(made) == ["2 3/4 1/4 3/4 1/4"]
    assert pitches(made)[0] == "B3"


def test_a_direction_moves_with_its_note() -> None:
    piano = "<direction><direction-type><dynamics><p/></dynamics></direction-type></direction>"
    source = passage("2/4", "C4/1/2 D4 E4 F4")
    second = b"<note><pitch><step>D</step>"
    marked = replace(source, xml=source.xml.replace(second, piano.encode() + second))
    music = read_line(vary(marked, "long-short"))
    direction = next(placed for placed in music.placed if placed.name == "direction")
    assert direction.onset == Fraction(3, 4)


def test_bars_left_as_written_are_named() -> None:
    made = vary(passage("4/4", EVEN, "C4/4", EVEN), "long-short")
    assert [line.bar for line in made.report if line.what == "bar as written"] == ["2"]


def test_the_bar_that_the_box_runs_into_is_not_named_as_left() -> None:
    made = vary(passage("4/4", EVEN, EVEN, "C4/4", box=(0, 1)), "long-short")
    assert lengths(made)[2] == "4"
    assert made.report == ()


def test_sextuplets_refuse_pairs() -> None:
    with pytest.raises(VariantError):
        vary(passage("2/4", "G4/1/6 A4 B4 C5 B4 A4 G4 A4 B4 C5 B4 A4"), "long-short")


def test_triplets_beside_a_run_stay_as_written() -> None:
    made = vary(passage("4/4", "C4/1/2 D4 E4 F4 G4/1/3 A4 B4 C5/1"), "long-short")
    assert lengths(made) == ["3/4 1/4 3/4 1/4 1/3 1/3 1/3 1"]
    assert values(made) == ["8. 16 8. 16 8t 8t 8t 4"]
    assert schema_errors(made.xml) == []


def test_several_voices_are_refused_with_the_option_that_chooses() -> None:
    source = passage("2/4", "C4/1/2 D4 E4 F4")
    second = f"<backup><duration>48</duration></backup>{written('C3/1/2 D3 E3 F3').replace('<voice>1', '<voice>2')}"
    both = replace(source, xml=source.xml.replace(b"</measure>", second.encode() + b"</measure>"))
    with pytest.raises(VariantError, match=r"2 sound in the box.*--voice 1, --voice 2"):
        vary(both, "long-short")
    assert pitches(vary(both, "long-short", voice="2")) == ["C3", "D3", "E3", "F3"]


_CELLS = ["1/2 1/2", "1/4 1/4 1/4 1/4", "1", "1/3 1/3 1/3", "-1", "1/2 -1/2", "3/4 1/4", "1/8 1/8 1/4 1/2"]


@st.composite
def boxes(draw: st.DrawFn) -> tuple[str, list[str]]:
    """A metre of crotchets and bars that fill it, one cell for each beat."""
    beats = draw(st.sampled_from([2, 3, 4]))
    bars = draw(
        st.lists(st.lists(st.sampled_from(_CELLS), min_size=beats, max_size=beats), min_size=1, max_size=3)
    )
    return f"{beats}/4", [" ".join(cells) for cells in bars]


def _music(bar: str) -> str:
    names = "C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5 B5 C6 D6".split()
    cells = [
        ("r", value[1:]) if value[0] == "-" else (names[i], value) for i, value in enumerate(bar.split())
    ]
    return " ".join(f"{name}/{value}" for name, value in cells)


@settings(max_examples=60, deadline=None)
@given(boxes(), st.sampled_from(["long-short", "short-long", "separate+long-short"]))
def test_any_box_keeps_its_notes_and_its_bars(box: tuple[str, list[str]], variant: str) -> None:
    """Laws: same pitches in the same order, every bar's total exact, valid, and only even runs changed."""
    time, bars = box
    source = passage(time, *(_music(bar) for bar in bars))
    try:
        made = vary(source, variant)
    except VariantError as refusal:
        silent = all(length.startswith("-") for bar in bars for length in bar.split())
        reason = "no note in the box" if silent else "run of at least four equal notes"
        assert reason in str(refusal)  # noqa: PT017
        return
    assert schema_errors(made.xml) == []
    assert pitches(made) == pitches(source)
    full = Fraction(time.split("/")[0])
    for before, after in zip(lengths(source), lengths(made), strict=True):
        assert sum(abs(Fraction(length)) for length in after.split()) == full
        changed = set(after.split()) - set(before.split())
        assert changed <= {"3/4", "1/4", "3/8", "1/8", "3/16", "1/16", "3/2", "1/2"}
