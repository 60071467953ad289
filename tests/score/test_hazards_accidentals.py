"""Hazards of accidentals: notes whose pitch the source writes for the sound alone get what a player needs (D30)."""

from __future__ import annotations

import pytest

from excerpts.excerpt import Excerpt
from tests.corpus.compare import Source
from tests.corpus.reading import document
from tests.music import DIVISIONS, bars_of, note
from tests.score.cutting import cut, cut_invalid, said

BACK = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"
NATURAL = "[<accidental>natural</accidental>]"
SHARP = "[<accidental>sharp</accidental>]"
TIED = '[<notations><tied type="{}"/></notations>]'


def signs(excerpt: Excerpt) -> list[str]:
    """Each sounding note's pitch and, behind it, the accidental that it has."""
    found = []
    for each in excerpt.tree().iter("note"):
        if each.find("pitch") is not None:
            sign = (each.findtext("accidental") or "").strip()
            found.append(f"{each.findtext('pitch/step')}{each.findtext('pitch/octave')} {sign}".strip())
    return found


def repaired(excerpt: Excerpt) -> list[str]:
    return [line for line in said(excerpt) if line.startswith("repaired accidental")]


@pytest.mark.parametrize(
    ("inside", "wanted"),
    [
        ("F#5:2 C#5:2", ["F5", "C5"]),
        ("F5:2 C5:2", ["F5 natural", "C5 natural"]),
        ("G#5:1 G#5:1 G5:1 G5:1", ["G5 sharp", "G5", "G5 natural", "G5"]),
        (f"G#5:2{SHARP} G5:2", ["G5 sharp", "G5 natural"]),
        (f"G#5:2{SHARP} G#4:2", ["G5 sharp", "G4 sharp"]),
        (f"G#5:2{SHARP} G4:2", ["G5 sharp", "G4"]),
        (f"F#5:2{SHARP} F#5:2", ["F5 sharp", "F5"]),
        ("Bbb4:2 Fx:2".replace("Fx", "F##4"), ["B4 flat-flat", "F4 double-sharp"]),
        (f"G#5:2{TIED.format('start')} G#5:2{TIED.format('stop')}", ["G5 sharp", "G5"]),
        (f"G#5:2{TIED.format('start')} Ab5:2{TIED.format('stop')}", ["G5 sharp", "A5 flat"]),
        ("G#5+D5:2 G5+D5:2", ["G5 sharp", "D5", "G5 natural", "D5"]),
    ],
)  # fmt: skip
def test_d30_a_note_reads_at_its_written_pitch(inside: str, wanted: list[str]) -> None:
    """In D major: the key, the accidentals before it in the bar, octave by octave, and ties tell it."""
    data = bars_of(f"D5:4{NATURAL}", inside, "D5:4")
    made = cut(data, "2")
    assert signs(made) == wanted
    assert Source(document(data)).part(0).differences(made, 1, 1) == []
    again = cut(made.xml, "2")
    assert again.xml == made.xml
    assert repaired(again) == []


def test_d30_one_line_a_bar_tells_what_was_added() -> None:
    data = bars_of(f"D5:4{NATURAL}", "G#5:1 F5:1 G#4:2", "E#5:4", "D5:4")
    assert repaired(cut(data, "1-4")) == [
        "repaired accidental in bar 2: G#5, F5, G#4 lacked it by key and bar",
        "repaired accidental in bar 3: E#5 lacked it by key and bar",
    ]


def test_d30_one_line_in_all_where_the_part_writes_none() -> None:
    data = bars_of("G#5:4", "G#5:2 G5:2", "D5:4")
    assert repaired(cut(data, "1-3")) == [
        "repaired accidental: the part has none; written at 3 notes by key and bar"
    ]


def test_d30_a_barline_ends_what_holds_and_a_tie_over_it_does_not_begin_it_again() -> None:
    start, stop = TIED.format("start"), TIED.format("stop")
    data = bars_of(f"G5:2 G#5:2{start}", f"G#5:1{stop} G#5:1 D5:2", "G5:4")
    assert signs(cut(data, "1-3")) == ["G5", "G5 sharp", "G5", "G5 sharp", "D5", "G5"]
    alone = cut(data, "2")
    assert signs(alone) == ["G5 sharp", "G5", "D5"]


def test_d30_all_voices_of_a_staff_are_read_in_order_of_time() -> None:
    """The sharp of the second voice holds for the first voice's last note, though it stands behind it in the file."""
    data = bars_of("D5:4", f"G5:1 D5:2 G5:1 {BACK}" + note("D4:2", "2") + note(f"G#5:2{SHARP}", "2"))
    assert signs(cut(data, "2")) == ["G5", "D5", "G5 natural", "D4", "G5 sharp"]
    together = bars_of("D5:4", f"G#5:4 {BACK}" + note(f"G#5:4{SHARP}", "2"))
    assert signs(cut(together, "2")) == ["G5", "G5 sharp"]


@pytest.mark.parametrize("sign", ["", SHARP])
def test_d30_two_pitches_of_one_line_that_begin_together_both_say_theirs(sign: str) -> None:
    data = bars_of("D5:4", f"G5:2 G5:2 {BACK}" + note(f"G#5:4{sign}", "2"))
    made = cut(data, "2")
    assert signs(made) == ["G5 natural", "G5 natural", "G5 sharp"]
    assert Source(document(data)).part(0).differences(made, 1, 1) == []
    assert cut(made.xml, "2").xml == made.xml


def test_d30_each_staff_is_read_by_itself() -> None:
    low = note(f"G#4:4{SHARP}", "2").replace("</note>", "<staff>2</staff></note>")
    low += f"<backup><duration>{2 * DIVISIONS}</duration></backup>" + note("G#4:2", "1")
    data = bars_of("D5:4", low).replace(b"<clef>", b"<staves>2</staves><clef>", 1)
    assert signs(cut(data, "2")) == ["G4 sharp", "G4 sharp"]


def test_d30_a_key_in_mid_bar_holds_from_there_and_ends_what_held() -> None:
    key = "<attributes><key><fifths>-1</fifths></key></attributes>"
    data = bars_of(f"D5:4{NATURAL}", f"B5:1 G#5:1 {key} Bb5:1 G#5:1")
    assert signs(cut(data, "2")) == ["B5", "G5 sharp", "B5", "G5 sharp"]


def test_d30_a_grace_note_is_read_before_the_note_that_it_leads_to() -> None:
    pitch = "<pitch><step>G</step><alter>1</alter><octave>5</octave></pitch>"
    grace = f"<note><grace/>{pitch}<voice>1</voice><type>eighth</type></note>"
    assert signs(cut(bars_of("D5:4", f"{grace} G#5:4{SHARP}"), "2")) == ["G5 sharp", "G5 sharp"]


@pytest.mark.parametrize(
    "inside",
    [
        note("G#5:4").replace("<note>", "<note print-object='no'>"),
        "G#5:4[<notehead>slash</notehead>]",
        "G#5:4[<notations><accidental-mark>sharp</accidental-mark></notations>]",
        "G#5:4[<notations><ornaments><accidental-mark>sharp</accidental-mark></ornaments></notations>]",
        "<attributes><clef><sign>percussion</sign></clef></attributes> G#5:4",
        note("D5:4").replace("<octave>", "<alter>0.3</alter><octave>"),
    ],
)
def test_d30_what_is_not_read_by_accidentals_is_left(inside: str) -> None:
    """Hidden notes, slashes, an editor's accidental above, percussion, and pitches that no sign stands for."""
    data = bars_of("D5:4", f"{inside}", "D5:4")
    made = cut_invalid(data, "2")
    assert "<accidental>" not in made.xml.decode()
    assert repaired(made) == []
    assert Source(document(data)).part(0).differences(made, 1, 1) == []


def test_d30_an_accidental_behind_an_ornament_is_the_ornaments() -> None:
    trill = "<ornaments><trill-mark/><accidental-mark>sharp</accidental-mark></ornaments>"
    data = bars_of("D5:4", f"G#5:4[<notations>{trill}</notations>]")
    made = cut(data, "2")
    assert signs(made) == ["G5 sharp"]
    assert Source(document(data)).part(0).differences(made, 1, 1) == []


def test_d30_an_accidental_that_says_nothing_is_filled() -> None:
    data = bars_of("D5:4", "G#5:4[<accidental/>]")
    assert signs(cut_invalid(data, "2")) == ["G5 sharp"]


def test_d30_quarter_tones_and_transposing_parts_go_by_the_written_pitch() -> None:
    tone = note("D5:2").replace("<octave>", "<alter>0.5</alter><octave>")
    data = bars_of("D5:4", f"{tone} G#5:2").replace(
        b"</clef>", b"</clef><transpose><chromatic>-2</chromatic></transpose>", 1
    )
    assert signs(cut(data, "2")) == ["D5 quarter-sharp", "G5 sharp"]
