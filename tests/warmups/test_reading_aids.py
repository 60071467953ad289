"""Clef changes and octave lines in warm-ups, judged as a player reads them. Default tier."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS, Level
from excerpts.instruments.staff import TREBLE, parse_pitch
from excerpts.notes import write_line
from excerpts.warmups import Plan, plan_warmup, warmup
from excerpts.warmups.line import to_line
from excerpts.warmups.reading_aids import choose_clefs, octave_lines
from tests.instruments.test_keys import KEYS

STEPS = "CDEFGAB"
# Lowest line of each clef as (sign, line): the letters of common notation.
BOTTOM_LINES = {("G", "2"): "E4", ("C", "3"): "F3", ("C", "4"): "D3", ("F", "4"): "G2"}


def read_clefs(plan: Plan, layout_index: int = 0) -> list[tuple[str, int, int]]:
    """Each note as (clef sign and line, ledger lines, bar), read from the written file."""
    tree = write_line(to_line(plan, plan.layouts[layout_index])).tree()
    notes, bottom, clef, shift = [], 0, "", 0
    for element in tree.iter("clef", "octave-shift", "note"):
        if element.tag == "clef":
            sign, line = element.findtext("sign"), element.findtext("line")
            clef = f"{sign}{line}"
            bottom = place(BOTTOM_LINES[sign or "", line or ""])
        elif element.tag == "octave-shift":
            shift = 7 if element.get("type") == "down" else 0
        else:
            step, octave = element.findtext("pitch/step"), element.findtext("pitch/octave")
            height = place(f"{step}{octave}") - shift - bottom
            bar = element.getparent()
            assert bar is not None
            notes.append((clef, max(0, height - 8, -height) // 2, int(bar.get("number", "0"))))
    return notes


def place(note: str) -> int:
    return 7 * int(note[-1]) + STEPS.index(note[0])


def changes(notes: list[tuple[str, int, int]]) -> list[str]:
    clefs = [clef for clef, _, _ in notes]
    return [clefs[0], *(now for before, now in zip(clefs, clefs[1:], strict=False) if now != before)]


@pytest.mark.parametrize(
    ("instrument", "key", "octaves", "clefs"),
    [
        ("violin", "A", 4, "G2"),
        ("viola", "C", 2, "C3"),
        ("viola", "F#", 2, "C3"),
        ("viola", "C", 3, "C3 G2 C3"),
        ("cello", "C", 2, "F4"),
        ("cello", "F", 2, "F4"),
        ("cello", "C", 3, "F4 C4 F4"),
        ("cello", "C", 4, "F4 G2 F4"),
        ("bass", "G", 1, "F4"),
        ("bass", "G", 2, "F4"),
        ("bass", "G", 3, "F4 C4 F4"),
        ("cello", "D", 3, "F4 C4 F4"),
        ("cello", "F", 3, "F4 C4 F4"),
    ],
)
def test_clefs_of_common_scales(instrument: str, key: str, octaves: int, clefs: str) -> None:
    """Common practice, no source: tenor for the middle of the cello, treble where it stays high."""
    assert changes(read_clefs(plan_warmup(key, instrument=instrument, octaves=octaves))) == clefs.split()


@pytest.mark.parametrize("pattern", ["scale", "arpeggio", "broken-thirds", "thirds"])
@pytest.mark.parametrize("level", LEVELS)
def test_the_bass_stays_in_one_clef(pattern: str, level: Level) -> None:
    """Common practice, no source: one and two octaves up to D above middle C, as orchestral parts write it."""
    for key in KEYS[::5]:
        plan = plan_warmup(key, instrument="bass", level=level, pattern=pattern)
        if max(pitch.midi for chord in plan.notes for pitch in chord) <= parse_pitch("D5").midi:
            assert changes(read_clefs(plan)) == ["F4"]


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", ["octaves", "thirds", "sixths"])
def test_double_stops_change_their_clef_at_a_barline(instrument: str, pattern: str) -> None:
    for key in KEYS[::3]:
        for octaves in (1, 2):
            try:
                plan = plan_warmup(
                    key, instrument=instrument, level="upper", pattern=pattern, octaves=octaves
                )
            except WarmupError:
                continue
            line = to_line(plan, plan.layouts[0])
            assert all(not item.onset for item in line.placed if item.name == "attributes")


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", ["scale", "arpeggio"])
def test_no_stretch_needs_many_ledger_lines(instrument: str, pattern: str) -> None:
    """Six lines, and one peak of seven, on the violin; three in a row only in the highest clef."""
    for key, level in zip(KEYS[::6], LEVELS * 2, strict=True):
        notes = read_clefs(plan_warmup(key, instrument=instrument, level=level, pattern=pattern))
        assert max(lines for _, lines, _ in notes) <= (7 if instrument == "violin" else 5)
        assert notes[0][0] == notes[-1][0]
        crowded = [lines > 2 and clef != "G2" for clef, lines, _ in notes]
        assert not any(all(crowded[at : at + 4]) for at in range(len(crowded) - 3)), f"{key} {level}"


def test_first_year_players_read_one_clef() -> None:
    for name in INSTRUMENTS:
        for key in KEYS[::10]:
            assert len(changes(read_clefs(plan_warmup(key, instrument=name, level="first")))) == 1


def test_one_high_note_is_not_worth_a_change() -> None:
    beats = [[parse_pitch(note) for note in group.split()] for group in ("C4 E4", "G4 F4", "C4 A3")]
    cello = INSTRUMENTS["cello"]
    assert {clef.name for clef in choose_clefs(beats, cello.clefs, [True, False, True])} == {"bass"}


def test_a_start_high_up_begins_in_the_clef_that_serves_it() -> None:
    plan = plan_warmup("A", instrument="cello", level="advanced", start="A4")
    assert changes(read_clefs(plan)) == ["G2"]


def test_an_octave_line_covers_the_high_notes_around_the_top() -> None:
    groups = [[parse_pitch(note) for note in group.split()] for group in ("E6 F6", "G6 A6", "G7 A7", "G6 E6")]
    assert list(octave_lines(groups, [TREBLE] * 4)) == [(1, 2)]
    assert list(octave_lines(groups[:2], [TREBLE] * 2)) == []


def test_one_peak_of_seven_ledger_lines_needs_no_octave_line() -> None:
    """F7 at the top of a three-octave scale, after the E7 of orchestral parts."""
    groups = [[parse_pitch(note) for note in group.split()] for group in ("D7 E7 F7 E7", "D7 C7 B6 A6")]
    assert list(octave_lines(groups, [TREBLE] * 2)) == []


def under_octave_lines(key: str, pattern: str) -> list[str]:
    """The notes between the start and the stop of the octave lines in a file, in its own order."""
    found, inside = [], False
    tree = warmup(key, level="advanced", pattern=pattern, octaves=4).tree()
    for element in tree.iter("octave-shift", "note", "measure"):
        if element.tag == "octave-shift":
            inside = element.get("type") == "down"
        elif element.tag == "note" and inside:
            found.append(f"{element.findtext('pitch/step')}{element.findtext('pitch/octave')}")
        elif inside:
            found.append("|")
    return found


@pytest.mark.parametrize(
    ("key", "pattern", "notes"),
    [
        ("A", "scale", "G6 A6 B6 C7 | D7 E7 F7 G7 A7 G7 F7 E7 | D7 C7 B6 A6"),
        ("G", "scale", "C7 D7 E7 F7 G7 F7 E7 D7 | C7 B6 A6 G6"),
        ("A", "arpeggio", "A6 C7 E7 | A7 E7 C7"),
    ],
)
def test_octave_lines_in_the_file_cover_the_notes_between_their_ends(
    key: str, pattern: str, notes: str
) -> None:
    """Pitches stay the sounding ones under an octave line (W3C MusicXML 4.0, octave-shift)."""
    assert under_octave_lines(key, pattern) == notes.split()


def test_an_octave_line_that_ends_with_its_bar_stops_in_that_bar() -> None:
    plan = plan_warmup("A", level="advanced", octaves=4)
    by_bars = replace(plan.layouts[0], group=plan.layouts[0].bar)
    shifts = [
        (item.bar, item.onset)
        for item in to_line(plan, by_bars).placed
        if any(sign.name == "octave-shift" for sign in item.signs)
    ]
    assert shifts == [(3, Fraction(0)), (3, Fraction(4))]
