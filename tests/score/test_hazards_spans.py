"""Hazards of things that span a cut: each is dropped, closed or begun again, and nothing hangs."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from excerpts.excerpt import Position
from tests.music import DIVISIONS, FIRST, bars_of, note, part, score
from tests.score.cutting import bar_at, cut, cut_invalid, direction, kinds, said, texts

WAY_BACK = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"


def on_note(inner: str) -> str:
    """What stands behind a note."""
    return f"[<notations>{inner}</notations>]"


def tied(kind: str) -> str:
    return on_note(f"<tied type='{kind}'/>")


def slur(kind: str, number: int = 1) -> str:
    return on_note(f"<slur type='{kind}' number='{number}'/>")


def wedge(kind: str, more: str = "", after: str = "") -> str:
    return direction(f"<wedge type='{kind}'{more}/>", "below", after)


# B12 ties


def test_b12_a_note_tied_to_nothing_shows_the_accidental_that_its_tie_spared() -> None:
    data = bars_of("D5:4", f"G#5:4{tied('stop')}")
    assert texts(cut_invalid(data, "2"), "accidental") == ["sharp"]


def test_b12_tie_and_tied_are_both_taken_out() -> None:
    data = bars_of(f"C5:2 D5:2{tied('start')}", f"D5:2{tied('stop')} C5:2")
    for address, edge in (("1", "end"), ("2", "start")):
        excerpt = cut(data, address)
        assert (kinds(excerpt, "tie"), kinds(excerpt, "tied")) == ([], [])
        assert [(end.kind, end.edge, end.pitch) for end in excerpt.open_ends] == [("tie", edge, "D5")]


def test_b12_tie_and_tied_that_disagree() -> None:
    data = bars_of("C5:2 D5:2", f"D5:2{tied('stop')} C5:2").replace(b'<tie type="stop"/>', b"")
    excerpt = cut(data, "2")
    assert kinds(excerpt, "tied") == []
    inside = cut(data, "1-2")
    assert kinds(inside, "tied") == []
    assert "dropped tie in bar 2: D5 is not tied to anything" in said(inside)


START_ONLY = '[<notations><tied type="start"/></notations>]'


def test_b12_a_tie_of_which_only_the_start_is_written_leads_to_the_next_note() -> None:
    """So in 52 files of music21's corpus, for nearly all ties of most."""
    data = bars_of(
        f"C5:2 Bb4:2{START_ONLY}", f"Bb4:1 C5:1 D5:2{START_ONLY}", f"D5:1 E5:3{START_ONLY}", "F5:4"
    )
    whole = cut(data, "1-4")
    assert kinds(whole, "tie") == kinds(whole, "tied") == ["start", "stop", "start", "stop"]
    assert "repaired tie in bar 2: Bb4 had only one end of it written" in said(whole)
    assert "dropped tie in bar 3: E5 is not tied to anything" in said(whole)
    middle = cut(data, "2")
    assert [(end.edge, end.pitch) for end in middle.open_ends] == [("start", "Bb4"), ("end", "D5")]
    assert texts(middle, "accidental") == ["flat", "natural"]


def test_b12_a_start_does_not_lead_to_another_voice_or_over_a_repeat() -> None:
    other = f"C5:4{START_ONLY} <backup><duration>{4 * DIVISIONS}</duration></backup>" + note("E4:4", "2")
    into = f"D5:4 <backup><duration>{4 * DIVISIONS}</duration></backup>" + note("C5:4", "2")
    assert kinds(cut(bars_of(other, into), "1-2"), "tie") == []
    back = "<barline location='right'><repeat direction='backward'/></barline>"
    assert kinds(cut(bars_of(f"C5:4{START_ONLY} {back}", "C5:4"), "1-2"), "tie") == []


def test_b12_ties_that_a_file_writes_for_the_sound_alone_are_drawn() -> None:
    def sound(kind: str, text: str) -> str:
        return note(text).replace("<voice>", f"<tie type='{kind}'/><voice>")

    data = bars_of(f"C5:3 {sound('start', 'D5:1')}", f"{sound('stop', 'D5:1')} E5:3", "C5:4")
    excerpt = cut(data, "1-2")
    assert kinds(excerpt, "tied") == kinds(excerpt, "tie") == ["start", "stop"]
    assert "repaired tie in bar 1: D5 has it for the sound only; drawn" in said(excerpt)
    middle = sound("stop", "D5:4").replace("<voice>", "<tie type='start'/><voice>")
    long = cut(bars_of(sound("start", "D5:4"), middle, middle, sound("stop", "D5:4")), "1-4")
    assert kinds(long, "tied") == ["start", "stop", "start", "stop", "start", "stop"]
    drawn = '[<notations><tied type="{}"/></notations>]'
    some = bars_of(
        f"C5:3 {sound('start', 'D5:1')}", f"{sound('stop', 'D5:1')} E5:3{drawn.format('start')}",
        f"E5:4{drawn.format('stop')}",
    )  # fmt: skip
    assert kinds(cut(some, "1-2"), "tied") == []  # this file draws the ties that it wants to be seen


def test_b12_a_tie_leads_over_the_barline_though_another_voice_makes_the_bar_too_long() -> None:
    long = f"<backup><duration>{4 * DIVISIONS}</duration></backup>" + note("E4:2", "2") + note("F4:3", "2")
    into = f"C5:4{tied('stop')}"
    assert kinds(cut(bars_of(f"C5:4{tied('start')} {long}", into), "1-2"), "tied") == ["start", "stop"]
    not_last = cut(bars_of(f"C5:2{tied('start')} D5:2 {long}", into), "1-2")
    assert kinds(not_last, "tied") == []
    assert "dropped tie in bar 1: C5 is not tied to anything" in said(not_last)


def test_b12_a_note_in_the_middle_of_a_long_tie() -> None:
    both = on_note("<tied type='stop'/><tied type='start'/>")
    data = bars_of(f"C5:2 D5:2{tied('start')}", f"D5:4{both}", f"D5:2{tied('stop')} C5:2")
    excerpt = cut(data, "2")
    assert kinds(excerpt, "tied") == []
    assert sorted(end.edge for end in excerpt.open_ends) == ["end", "start"]


@pytest.mark.parametrize(
    ("pitch", "sign"), [("C#5", None), ("C5", "natural"), ("Bb4", "flat"), ("G#4", "sharp")]
)
def test_b12_the_accidental_that_stood_before_the_barline(pitch: str, sign: str | None) -> None:
    data = bars_of(f"D5:2 {pitch}:2{tied('start')}", f"{pitch}:2{tied('stop')} {pitch}:2")
    excerpt = cut(data, "2")
    assert texts(excerpt, "accidental")[:1] == ([sign] if sign else [])


def test_b12_a_tie_between_two_spellings_of_one_pitch() -> None:
    data = bars_of(f"C5:2 D#5:2{tied('start')}", f"Eb5:2{tied('stop')} C5:2")
    assert kinds(cut(data, "1-2"), "tied") == ["start", "stop"]


def test_b12_a_tie_into_a_second_ending() -> None:
    left = "<barline location='left'><ending number='{0}' type='start'/></barline>"
    right = "<barline location='right'><ending number='{0}' type='stop'/>{1}</barline>"
    back = "<repeat direction='backward'/>"
    data = bars_of(
        f"C5:2 D5:2{tied('start')}",
        f"{left.format(1)} D5:2{tied('stop')} C5:2 {right.format(1, back)}",
        f"{left.format(2)} D5:2{tied('stop')} C5:2 {right.format(2, '')}",
    )
    excerpt = cut(data, "1-3")
    assert kinds(excerpt, "tied") == ["start", "stop"]
    assert [(end.edge, end.at) for end in excerpt.open_ends] == [("start", Position(2, Fraction(0)))]


# B13 slurs


def test_b13_a_slur_number_used_again_while_it_is_open() -> None:
    data = bars_of(
        f"C5:1{slur('start')} D5:1 E5:1{slur('start')} F5:1{slur('stop')}",
        f"C5:2{slur('stop')} D5:2",
        f"C5:2{slur('start')} D5:2{slur('stop')}",
    )
    assert kinds(cut(data, "1"), "slur") in (["start", "start", "stop", "stop"], ["start", "stop"])
    assert kinds(cut(data, "3"), "slur") == ["start", "stop"]


def test_b13_a_stop_written_before_its_start() -> None:
    second = "".join(note(text, "2") for text in (f"A4:2{slur('start', 2)}", "B4:2"))
    first = f"C5:2 D5:2{slur('stop', 2)}"
    data = bars_of(f"{first} {WAY_BACK} {second}", "C5:4")
    assert kinds(cut(data, "1"), "slur") == ["stop", "start"]


def test_b13_ends_in_different_voices() -> None:
    second = note(f"A4:4{slur('start', 2)}", "2")
    data = bars_of(f"C5:4 {WAY_BACK} {second}", f"C5:2{slur('stop', 2)} D5:2")
    assert kinds(cut(data, "1-2"), "slur") == ["start", "stop"]
    assert cut(data, "1").tree().find(".//slur") is None


def test_b13_from_a_grace_note_to_its_main_note() -> None:
    grace = (
        "<note><grace/><pitch><step>B</step><octave>4</octave></pitch><voice>1</voice>"
        "<notations><slur type='start' number='1'/></notations></note>"
    )
    data = bars_of("C5:4", f"{grace} C5:2{slur('stop')} D5:2", "C5:4")
    assert kinds(cut(data, "2"), "slur") == ["start", "stop"]


def test_b13_numbers_up_to_sixteen() -> None:
    data = bars_of(f"C5:2{slur('start', 16)} D5:2", f"E5:2{slur('stop', 16)} F5:2")
    excerpt = cut(data, "1")
    assert [s.get("number") for s in excerpt.tree().iter("slur")] == ["16", "16"]


# B14 hairpins


def test_b14_a_hairpin_over_both_edges_and_one_over_each() -> None:
    data = bars_of(f"{wedge('diminuendo')} C5:4", "C5:4", f"C5:4 {wedge('stop')}", "C5:4")
    assert kinds(cut(data, "2"), "wedge") == ["diminuendo", "stop"]
    assert kinds(cut(data, "1-2"), "wedge") == ["diminuendo", "stop"]
    assert kinds(cut(data, "3-4"), "wedge") == ["diminuendo", "stop"]
    assert kinds(cut(data, "4"), "wedge") == []


def test_b14_two_hairpins_of_one_number_at_once() -> None:
    data = bars_of(
        f"{wedge('crescendo')} C5:2 {wedge('crescendo')} C5:2",
        f"C5:2 {wedge('stop')} C5:2 {wedge('stop')}",
    )
    assert kinds(cut(data, "1-2"), "wedge") == ["crescendo", "crescendo", "stop", "stop"]
    first = kinds(cut(data, "1"), "wedge")
    assert first.count("stop") == first.count("crescendo")


def test_b14_a_stop_on_the_other_staff_and_an_offset() -> None:
    late = f"<offset>{DIVISIONS}</offset>"
    data = bars_of(
        f"{wedge('crescendo', after=late + '<staff>1</staff>')} C5:4",
        f"C5:4 {wedge('stop', after=f'<offset>-{DIVISIONS}</offset><staff>2</staff>')}",
        "C5:4",
    )
    assert kinds(cut(data, "1-2"), "wedge") == ["crescendo", "stop"]
    assert kinds(cut(data, "1"), "wedge") == ["crescendo", "stop"]
    assert kinds(cut(data, "2"), "wedge") == ["crescendo", "stop"]


def test_b14_a_hairpin_of_no_length() -> None:
    data = bars_of(f"{wedge('crescendo')} {wedge('stop')} C5:4", "C5:4")
    assert kinds(cut(data, "1"), "wedge") == ["crescendo", "stop"]


TWICE = "dropped hairpin in bar {}: it has no other end in the source"


@pytest.mark.parametrize("between", ["C5:1", "", wedge("diminuendo")])
@pytest.mark.parametrize("address", ["1-2", "2"])
def test_b14_a_second_stop_of_a_hairpin_is_dropped(between: str, address: str) -> None:
    """Also where the next one has just begun: it ends at its own stop, not at once."""
    rest = "C5:1 " + wedge("stop") if "wedge" in between else ""
    bar = f"C5:1 {wedge('stop')} {between} {wedge('stop')} {rest} C5:1"
    excerpt = cut_invalid(bars_of(f"{wedge('crescendo')} C5:4", bar), address)
    ends = ["crescendo", "stop"] + ["diminuendo", "stop"] * bool(rest)
    assert kinds(excerpt, "wedge") == ends
    assert said(excerpt).count(TWICE.format(2)) == 1
    inside = [child for child in bar_at(excerpt, -1) if child.tag in ("note", "direction")]
    if rest:
        assert [child.tag for child in inside[-5:]] == ["direction", "direction", "note", "direction", "note"]


def test_b14_a_second_stop_on_one_staff_does_not_end_the_hairpin_of_the_other() -> None:
    def on(staff: int, kind: str) -> str:
        return wedge(kind, after=f"<staff>{staff}</staff>")

    first = f"{on(1, 'crescendo')} {on(2, 'diminuendo')} D5:1 {on(1, 'stop')} D5:1 {on(1, 'stop')} D5:2"
    data = bars_of(first, f"D5:2 {on(2, 'stop')} D5:2").replace(b"<clef>", b"<staves>2</staves><clef>", 1)
    excerpt = cut(data, "1-2")
    wedges = excerpt.tree().iterfind(".//direction")
    found = [(d.findtext("staff"), w.get("type")) for d in wedges for w in d.iter("wedge")]
    assert found == [("1", "crescendo"), ("2", "diminuendo"), ("1", "stop"), ("2", "stop")]
    assert said(excerpt) == [TWICE.format(1)]


# B15 octave signs


def test_b15_an_octave_sign_begins_and_ends_with_the_cut() -> None:
    def sign(kind: str) -> str:
        return direction(f"<octave-shift type='{kind}' size='15'/>")

    data = bars_of(f"{sign('down')} C7:4", "D7:4", f"E7:4 {sign('stop')}", "C5:4")
    excerpt = cut(data, "2")
    shifts = [(s.get("type"), s.get("size")) for s in excerpt.tree().iter("octave-shift")]
    assert shifts == [("down", "15"), ("stop", "15")]
    assert texts(excerpt, "octave") == ["7"]
    assert [child.tag for child in bar_at(excerpt, 0)] == ["attributes", "direction", "note", "direction"]


def test_b15_an_octave_sign_that_never_stops() -> None:
    begin = direction("<octave-shift type='down' size='8'/>")
    data = bars_of(f"{begin} C6:4", "C6:4")
    excerpt = cut(data, "1")
    assert kinds(excerpt, "octave-shift") == []
    assert "dropped octave sign in bar 1: it has no other end in the source" in said(excerpt)


# B16 pedal, dashes, brackets, principal voices


@pytest.mark.parametrize(
    ("start", "stop"),
    [
        ("<pedal type='start' line='yes'/>", "<pedal type='stop' line='yes'/>"),
        ("<dashes type='start' number='1'/>", "<dashes type='stop' number='1'/>"),
        (
            "<bracket type='start' number='1' line-end='down'/>",
            "<bracket type='stop' number='1' line-end='down'/>",
        ),
        (
            "<principal-voice type='start' symbol='Hauptstimme'/>",
            "<principal-voice type='stop' symbol='none'/>",
        ),
    ],
    ids=["pedal", "dashes", "bracket", "principal voice"],
)
def test_b16_lines_are_closed_and_begun_again(start: str, stop: str) -> None:
    tag = start[1:].split()[0]
    data = bars_of(f"{direction(start)} C5:4", "C5:4", f"C5:4 {direction(stop)}", "C5:4")
    for address in ("1", "2", "3", "1-2", "2-3", "3-4"):
        assert kinds(cut(data, address), tag) == ["start", "stop"], address
    assert kinds(cut(data, "4"), tag) == []


@pytest.mark.parametrize(
    ("said_before", "restated"),
    [
        ("<words>cresc.</words></direction-type><direction-type>", ["(cresc.)"]),
        ("<words>poco</words><words>rit.</words></direction-type><direction-type>", ["(poco rit.)"]),
        ("<words>dim.</words></direction-type></direction><direction><direction-type>", ["(dim.)"]),
        ("<words>(cresc.)</words></direction-type><direction-type>", ["(cresc.)"]),
        ("<words>sul G</words></direction-type><direction-type>", ["(sul G)"]),
        ("", []),
    ],
)
def test_b16_dashes_come_with_the_words_that_they_go_on_with(said_before: str, restated: list[str]) -> None:
    """Common practice of copyists, no source; a string is restated by itself, once."""
    start = direction(f"{said_before}<dashes type='start' number='1'/>")
    stop = direction("<dashes type='stop' number='1'/>")
    data = bars_of(f"{start} C5:4", "C5:4", "C5:4", f"C5:4 {stop}")
    excerpt = cut(data, "2-3")
    assert texts(excerpt, "words") == restated
    assert kinds(excerpt, "dashes") == ["start", "stop"]
    again = cut(excerpt.xml, "3")
    assert texts(again, "words") == restated


@pytest.mark.parametrize("kind", ["change", "continue"])
def test_b16_a_pedal_change_has_an_open_start(kind: str) -> None:
    pedal = "<pedal type='{}' line='yes'/>"
    data = bars_of(
        f"{direction(pedal.format('start'))} C5:4",
        f"C5:2 {direction(pedal.format(kind))} C5:2",
        f"C5:4 {direction(pedal.format('stop'))}",
    )
    assert kinds(cut(data, "2"), "pedal") == ["start", kind, "stop"]


def test_b16_a_pedal_without_a_partner() -> None:
    end = direction("<pedal type='stop' line='yes'/>")
    data = bars_of(f"{end} C5:4")
    assert kinds(cut(data, "1"), "pedal") == []


# B17 wavy lines


def test_b17_a_long_trill() -> None:
    def trill(kind: str) -> str:
        return on_note(f"<ornaments><trill-mark/><wavy-line type='{kind}' number='1'/></ornaments>")

    data = bars_of(f"C5:4{trill('start')}", "C5:2 C5:2", f"C5:4{trill('stop')}")
    assert kinds(cut(data, "2"), "wavy-line") == ["start", "stop"]
    lost = bars_of(f"C5:4{trill('start')}", "C5:4")
    assert kinds(cut(lost, "1"), "wavy-line") == ["start", "stop"]
    assert "repaired trill line in bar 1: it has no end in the source; over its note only" in said(
        cut(lost, "1")
    )
    assert cut(lost, "1").tree().find(".//trill-mark") is not None


def test_b17_a_wavy_line_in_a_barline_is_kept() -> None:
    wavy = "<barline location='right'><bar-style>regular</bar-style><wavy-line type='continue'/></barline>"
    assert kinds(cut(bars_of(f"C5:4 {wavy}", "C5:4"), "1"), "wavy-line") == ["continue"]


# B18 tuplets


def test_b18_a_tuplet_over_the_edge_keeps_its_ratio() -> None:
    bracket = on_note("<tuplet type='{}' number='1'/>")
    data = bars_of(
        f"C5:3 C5:2/3{bracket.format('start')} D5:1/3", f"E5:1/3 F5:2/3{bracket.format('stop')} C5:3"
    )
    excerpt = cut(data, "1")
    assert kinds(excerpt, "tuplet") in ([], ["start", "stop"])
    assert texts(excerpt, "actual-notes") == ["3", "3"]
    unmatched = bars_of(f"C5:3 C5:2/3{bracket.format('start')} D5:1/3", "C5:4")
    mended = cut(unmatched, "1")
    assert kinds(mended, "tuplet") == ["start", "stop"]
    assert "repaired triplet number in bar 1: 3, which the source prints nowhere before" in said(mended)
    assert texts(cut(unmatched, "1"), "actual-notes") == ["3", "3"]


@pytest.mark.parametrize("lacks", ["start", "stop"])
@pytest.mark.parametrize("voice", ["1", "2"])
@pytest.mark.parametrize("named", [True, False])
def test_b18_a_tuplet_has_both_ends_in_its_own_voice(lacks: str, voice: str, named: bool) -> None:
    """Two voices in step, both numbered 1, of which one lacks an end: the other keeps its own two."""

    def triplet(own: str, pitches: str) -> str:
        mark = "[<staff>{}</staff><notations><tuplet type='{}' number='1'/></notations>]"
        ends = {"start": mark.format(own, "start"), "stop": mark.format(own, "stop")}
        if own == voice:
            ends[lacks] = f"[<staff>{own}</staff>]"
        first, second, third = pitches.split()
        middle = f"[<staff>{own}</staff>]"
        return "".join(
            note(f"{pitch}:1/3{end}", own)
            for pitch, end in ((first, ends["start"]), (second, middle), (third, ends["stop"]))
        )

    back = f"<backup><duration>{DIVISIONS}</duration></backup>"
    bars = [f"{triplet('1', 'C5 D5 E5')}{back}{triplet('2', 'F4 G4 A4')}"] * 2
    data = score(part([f"{FIRST.replace('<clef>', '<staves>2</staves><clef>')} {bars[0]}", bars[1]]))
    if not named:
        data = re.sub(rb"<voice>.</voice>", b"", data)
    excerpt = cut_invalid(data, "1-2")
    for staff in ("1", "2"):
        notes = [one for one in excerpt.tree().iter("note") if one.findtext("staff") == staff]
        wanted = [] if staff == voice else ["start", "stop"] * 2
        assert [end.get("type") for one in notes for end in one.iter("tuplet")] == wanted
    assert said(excerpt).count("dropped tuplet in bar 2: it has no other end in the source") == 1


def test_b18_tuplets_of_one_note_each() -> None:
    both = "[<notations><tuplet type='start' number='1'/><tuplet type='stop' number='1'/></notations>]"
    excerpt = cut(bars_of(*[f"C5:8/3{both} D5:4/3"] * 3), "1-3")
    assert kinds(excerpt, "tuplet") == ["start", "stop"] * 3
    assert not any("tuplet" in line for line in said(excerpt))


# B19 beams


def test_b19_beams_over_the_barline_on_two_levels() -> None:
    def beam(*kinds_by_level: str) -> str:
        inner = "".join(f"<beam number='{n}'>{kind}</beam>" for n, kind in enumerate(kinds_by_level, start=1))
        return f"[{inner}]"

    data = bars_of(
        f"C5:7/2 D5:1/4{beam('begin', 'begin')} E5:1/4{beam('continue', 'continue')}",
        f"F5:1/4{beam('continue', 'continue')} G5:1/4{beam('end', 'end')} C5:7/2",
    )
    assert texts(cut(data, "1"), "beam") == ["begin", "begin", "end", "end"]
    assert texts(cut(data, "2"), "beam") == ["begin", "begin", "end", "end"]


# B20 lines from note to note


@pytest.mark.parametrize(
    "pair",
    [
        "<glissando type='{}' line-type='wavy' number='1'/>",
        "<slide type='{}' line-type='solid' number='1'/>",
        "<ornaments><tremolo type='{}'>3</tremolo></ornaments>",
        "<technical><hammer-on type='{}' number='1'/></technical>",
        "<technical><pull-off type='{}' number='1'/></technical>",
    ],
    ids=["glissando", "slide", "tremolo", "hammer-on", "pull-off"],
)
def test_b20_a_line_from_note_to_note_is_kept_whole_or_dropped(pair: str) -> None:
    data = bars_of(f"C5:2 D5:2{on_note(pair.format('start'))}", f"E5:2{on_note(pair.format('stop'))} F5:2")
    tag = pair.split("<")[-1 if pair.count("<") == 1 else 2].split()[0]
    assert kinds(cut(data, "1-2"), tag) == ["start", "stop"]
    for half in ("1", "2"):
        excerpt = cut(data, half)
        assert kinds(excerpt, tag) == []
        assert excerpt.open_ends == ()  # a slur is drawn on to the edge, these are not
        assert any(line.startswith("dropped") and tag in line for line in said(excerpt)), said(excerpt)


def test_b20_a_lyric_that_extends_over_the_edge() -> None:
    lyric = "[<lyric><syllabic>single</syllabic><text>ah</text><extend type='start'/></lyric>]"
    stop = "[<lyric><extend type='stop'/></lyric>]"
    data = bars_of(f"C5:4{lyric}", f"C5:4{stop}")
    for half, syllables in (("1", ["ah"]), ("2", [])):
        excerpt = cut(data, half)
        assert texts(excerpt, "text") == syllables
        assert kinds(excerpt, "extend") == []
        assert excerpt.open_ends == ()


def test_b20_the_lines_of_two_verses_stay_with_their_verses() -> None:
    def verses(second: str) -> str:
        first = "<lyric number='1'><text>la</text></lyric>"
        return f"[{first}<lyric number='2'>{second}</lyric>]"

    start, stop = "<text>ah</text><extend type='start'/>", "<extend type='stop'/>"
    data = bars_of(f"C5:4{verses(start)}", f"D5:2{verses('<text>oh</text>')} E5:2{verses(stop)}")
    lines = cut(data, "2").tree().iter("extend")
    told = [
        (line.get("type"), parent.get("number")) for line in lines if (parent := line.getparent()) is not None
    ]
    assert told == [("start", "2"), ("stop", "2")]


def test_b20_a_line_is_begun_again_behind_the_syllable_that_is_there() -> None:
    start, stop = "<text>ah</text><extend type='start'/>", "<extend type='stop'/>"
    first, second, third = (f"[<lyric>{inner}</lyric>]" for inner in (start, "<text>oh</text>", stop))
    data = bars_of(f"C5:4{first}", f"D5:2{second} E5:2{third}")
    notes = cut(data, "2").tree().findall("part/measure/note")
    assert [len(each.findall("lyric")) for each in notes] == [1, 1]


def test_b20_a_line_is_ended_on_a_note_that_it_goes_through() -> None:
    start = "[<lyric><text>ah</text><extend type='start'/></lyric>]"
    through, stop = (f"[<lyric><extend type='{kind}'/></lyric>]" for kind in ("continue", "stop"))
    data = bars_of(f"C5:2{start} D5:2{through}", f"E5:4{stop}")
    assert kinds(cut(data, "1"), "extend") == ["start", "continue", "stop"]


# B21 endings


def ending(location: str, kind: str, number: str = "1", more: str = "") -> str:
    return f"<barline location='{location}'><ending number='{number}' type='{kind}'/>{more}</barline>"


BACK = "<repeat direction='backward'/>"


def test_b21_ending_brackets_are_never_left_half() -> None:
    data = bars_of(
        "C5:4",
        f"{ending('left', 'start')} C5:4",
        f"C5:4 {ending('right', 'stop', more=BACK)}",
        f"{ending('left', 'start', '2')} C5:4",
        f"C5:4 {ending('right', 'discontinue', '2')}",
        "C5:4",
    )
    for address in ("1-2", "2", "3", "3-4", "2-3", "4", "5", "5-6", "1-6"):
        found = kinds(cut(data, address), "ending")
        assert found.count("start") * 2 == len(found), address


def test_b21_a_stop_without_a_start() -> None:
    data = bars_of("C5:4", f"C5:4 {ending('right', 'stop')}", "C5:4")
    assert kinds(cut(data, "1-3"), "ending") == []
    assert kinds(cut(data, "2"), "ending") == []


# B22 repeats and jumps


def test_b22_repeats_inside_are_kept_with_their_attributes() -> None:
    forward = "<barline location='left'><repeat direction='forward' winged='straight'/></barline>"
    backward = "<barline location='right'><repeat direction='backward' times='3'/></barline>"
    data = bars_of("C5:4", f"{forward} C5:4", f"C5:4 {backward}", "C5:4")
    both = [
        (r.get("direction"), r.get("times"), r.get("winged")) for r in cut(data, "2-3").tree().iter("repeat")
    ]
    assert both == [("forward", None, "straight"), ("backward", "3", None)]
    assert [r.get("direction") for r in cut(data, "2").tree().iter("repeat")] == ["forward"]
    assert [r.get("direction") for r in cut(data, "3").tree().iter("repeat")] == ["backward"]


@pytest.mark.parametrize(
    "jump", ["dacapo='yes'", "dalsegno='s'", "tocoda='c'", "fine='yes'", "segno='s'", "coda='c'"]
)
def test_b22_a_jump_loses_its_playback_and_keeps_its_sign(jump: str) -> None:
    sign = direction("<words>D.C.</words>", after=f"<sound {jump} tempo='90'/>")
    excerpt = cut(bars_of("C5:4", f"C5:4 {sign}"), "2")
    assert "D.C." in texts(excerpt, "words")
    assert [dict(s.attrib) for s in excerpt.tree().iter("sound")] == [{"tempo": "90"}]


def test_spans_of_two_voices_are_followed_apart() -> None:
    low = "".join(note(text, "2") for text in ("A4:2", f"B4:2{slur('start', 2)}"))
    end = "".join(note(text, "2") for text in (f"A4:2{slur('stop', 2)}", "B4:2"))
    first = f"{FIRST} C5:2 D5:2{slur('start')} {WAY_BACK} {low}"
    data = score(part([first, f"C5:2{slur('stop')} D5:2 {WAY_BACK} {end}"]))
    excerpt = cut(data, "2")
    assert kinds(excerpt, "slur") == []
    assert sorted(end.voice for end in excerpt.open_ends) == ["1", "2"]
