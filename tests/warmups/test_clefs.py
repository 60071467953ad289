"""Clef changes and octave lines in warm-ups, judged as a player reads them. Default tier."""

from __future__ import annotations

import pytest

from excerpts.instruments import INSTRUMENTS, LEVELS
from excerpts.staff import TREBLE, parse_pitch
from excerpts.warmups import Plan, plan_warmup, warmup
from excerpts.warmups.clefs import choose_clefs
from excerpts.warmups.octave_lines import octave_lines
from tests.test_keys import KEYS

STEPS = "CDEFGAB"
# Lowest line of each clef as (sign, line): the letters of common notation.
BOTTOM_LINES = {("G", "2"): "E4", ("C", "3"): "F3", ("C", "4"): "D3", ("F", "4"): "G2"}


def read_clefs(plan: Plan, layout_index: int = 0) -> list[tuple[str, int, int]]:
    """Each note as (clef sign and line, ledger lines, bar), read from the written file."""
    from excerpts.notes import write_line
    from excerpts.warmups.line import to_line

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
        ("bass", "G", 3, "F4 G2 F4"),
    ],
)
def test_clefs_of_common_scales(instrument: str, key: str, octaves: int, clefs: str) -> None:
    """Common practice, no source: tenor for the middle of the cello, treble where it stays high."""
    assert changes(read_clefs(plan_warmup(key, instrument=instrument, octaves=octaves))) == clefs.split()


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", ["scale", "arpeggio"])
def test_no_stretch_needs_many_ledger_lines(instrument: str, pattern: str) -> None:
    """Six lines at most (the top E of orchestral violin parts); three in a row only in the highest clef."""
    for key, level in zip(KEYS[::6], LEVELS * 2, strict=True):
        notes = read_clefs(plan_warmup(key, instrument=instrument, level=level, pattern=pattern))
        assert max(lines for _, lines, _ in notes) <= (6 if instrument == "violin" else 5)
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


def test_an_octave_line_starts_and_stops_once_in_the_file() -> None:
    shifts = [element.get("type") for element in warmup("A", level="advanced").tree().iter("octave-shift")]
    assert shifts == ["down", "stop"]
