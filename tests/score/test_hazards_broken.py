"""Hazards of sources that are wrong already: an answer or a message, never a note that is silently another."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.errors import ExcerptsError
from excerpts.score import score_from_bytes
from excerpts.score.overview import overview
from tests.music import DIVISIONS, FIRST, bars_of, note, part, score
from tests.score.cutting import attributes, cut, cut_invalid, direction, kinds, said, texts

WAY_BACK = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"


def warnings(lines: list[str]) -> list[str]:
    return [line for line in lines if line.startswith("warning")]


# G43 ends without a partner


@pytest.mark.parametrize(
    ("inside", "tag"),
    [
        ("C5:4[<notations><tied type='start'/></notations>]", "tied"),
        ("C5:4[<notations><tied type='stop'/></notations>]", "tied"),
        ("C5:4[<notations><slur type='stop' number='1'/></notations>]", "slur"),
        ("C5:4[<notations><tuplet type='start' number='1'/></notations>]", "tuplet"),
        (direction("<wedge type='stop'/>") + " C5:4", "wedge"),
        (direction("<octave-shift type='up' size='8'/>") + " C5:4", "octave-shift"),
        (direction("<pedal type='start' line='yes'/>") + " C5:4", "pedal"),
        ("C5:4 <barline location='right'><ending number='1' type='stop'/></barline>", "ending"),
    ],
)
def test_g43_an_end_without_its_partner_is_dropped_and_named(inside: str, tag: str) -> None:
    excerpt = cut(bars_of("D5:4", inside, "E5:4"), "2", 1)
    assert kinds(excerpt, tag) == []
    assert any(line.startswith("dropped") and " in bar 2" in line for line in said(excerpt))


def test_g43_one_lost_stop_leaves_all_later_slurs_right() -> None:
    start, stop = (f"[<notations><slur type='{kind}' number='1'/></notations>]" for kind in ("start", "stop"))
    whole = f"C5:2{start} D5:2{stop}"
    data = bars_of(f"C5:2{start} D5:2", *[whole] * 20)
    for bar in (2, 9, 21):
        assert kinds(cut(data, str(bar)), "slur") == ["start", "stop"]


# G44 broken time


@pytest.mark.parametrize("told", ["-3", "0", "", "4e2", None])
@pytest.mark.parametrize("address", ["1", "1-2", "3"])
def test_g44_a_duration_that_cannot_be_counts_in_the_divisions_of_its_own_bar(
    told: str | None, address: str
) -> None:
    """The bar that sets the divisions is mended by them, not by those that were in force before it."""
    duration = "" if told is None else f"<duration>{told}</duration>"
    bare = f"<note><pitch><step>D</step><octave>5</octave></pitch>{duration}<voice>1</voice><type>half</type></note>"
    finer = "<attributes><divisions>48</divisions></attributes>"
    excerpt = cut(bars_of(f"{bare} E5:2", "C5:4", f"C5:2 {finer} {bare}"), address)
    assert {bar.length for bar in excerpt.bars} == {4}
    assert ("96" if address == "3" else "48") in texts(excerpt, "duration")


@pytest.mark.parametrize("voice", [1, 2])
def test_g44_a_duration_that_cannot_be_in_one_of_two_voices(voice: int) -> None:
    """The other voice fills the bar by itself; the note still takes its written value."""
    lower = WAY_BACK + "".join(note(t, "2") for t in ("E4:1", "F4:2", "G4:1"))
    whole = cut(bars_of(f"C5:1 D5:2 C5:1 {lower}", "C5:4"), "1")
    step = "D" if voice == 1 else "F"
    tree = whole.tree()
    (broken,) = [n for n in tree.iter("note") if n.findtext("pitch/step") == step]
    broken.find("duration").text = "-2"  # type: ignore[union-attr]
    mended = cut(etree.tostring(tree), "1")
    assert texts(mended, "duration") == texts(whole, "duration")


def test_g44_a_note_without_duration_takes_its_written_value() -> None:
    bare = "<note><pitch><step>D</step><octave>5</octave></pitch><voice>1</voice><type>quarter</type></note>"
    excerpt = cut(bars_of("C5:4", f"C5:1 {bare} E5:2", "C5:4"), "2")
    assert texts(excerpt, "duration") == ["24", "24", "48"]
    assert "repaired note in bar 2: its duration could not be read; taken from its written value" in said(
        excerpt
    )


@pytest.mark.parametrize("duration", ["-24", "x", "", "1e9", "24/0", "NaN", "9" * 400])
def test_g44_a_duration_that_cannot_be_read(duration: str) -> None:
    bad = (
        f"<note><pitch><step>D</step><octave>5</octave></pitch><duration>{duration}</duration><voice>1</voice>"
        "<type>eighth</type><dot/></note>"
    )
    excerpt = cut_invalid(bars_of("C5:4", f"C5:1/4 {bad} E5:3", "C5:4"), "2")
    assert any(line.startswith("repaired note in bar 2") for line in said(excerpt))
    assert texts(excerpt, "duration") == ["6", "18", "72"]
    assert excerpt.bars[0].length == 4


def test_g44_a_written_value_that_does_not_fit_the_bar_is_not_believed() -> None:
    bad = "<note><pitch><step>D</step><octave>5</octave></pitch><voice>1</voice><type>whole</type></note>"
    excerpt = cut_invalid(bars_of("C5:4", f"C5:1 {bad} E5:2", "C5:4"), "2")
    assert texts(excerpt, "duration") == ["24", "48"]
    assert "warning bar in bar 2: the source has a <note> without a duration" in said(excerpt)


def test_g44_a_note_of_no_length_in_a_full_bar_is_a_grace_note() -> None:
    none = (
        "<note><pitch><step>D</step><octave>5</octave></pitch><duration>0</duration><voice>1</voice></note>"
    )
    excerpt = cut(bars_of("C5:4", f"{none} C5:4", "C5:4"), "2")
    assert len(list(excerpt.tree().iter("grace"))) == 1
    assert any("written as a grace note" in line for line in said(excerpt))


def test_g44_missing_divisions_are_told_by_the_note_values() -> None:
    data = bars_of("C5:1 D5:1/2 E5:1/2 F5:2", "C5:4").replace(
        f"<divisions>{DIVISIONS}</divisions>".encode(), b""
    )
    excerpt = cut(data, "2")
    assert excerpt.bars[0].length == 4
    assert texts(excerpt, "divisions") == [str(DIVISIONS)]
    assert "repaired divisions: missing; 24 to a quarter note by the note values" in said(excerpt)


@pytest.mark.parametrize("bar", [1, 2])
@pytest.mark.parametrize("with_types", [True, False])
def test_g44_divisions_behind_the_first_notes_hold_for_these_too(with_types: bool, bar: int) -> None:
    told = f"<divisions>{DIVISIONS}</divisions>"
    late = f"C5:1 {attributes(told)} D5:1 E5:2"
    data = bars_of("B4:4", late, "C5:4") if bar == 2 else bars_of(late, "B4:4", "C5:4")
    data = data.replace(told.encode(), b"", 1)
    if not with_types:
        data = re.sub(rb"<type>.*?</type>", b"", data)
    excerpt = cut(data, "1-3")
    assert [bar.length for bar in excerpt.bars] == [4, 4, 4]
    told_by = "the note values" if with_types else "what is said behind the first notes"
    assert f"repaired divisions: missing; {DIVISIONS} to a quarter note by {told_by}" in said(excerpt)


def test_g44_notes_that_say_themselves_what_they_count_in_before_the_divisions() -> None:
    """A quarter note of duration 1, as without divisions; what comes behind counts otherwise."""
    data = bars_of(f"C5:4 {attributes('<divisions>48</divisions>')}", "D5:4").replace(
        f"<divisions>{DIVISIONS}</divisions>".encode(), b""
    )
    data = data.replace(f"<duration>{4 * DIVISIONS}</duration>".encode(), b"<duration>4</duration>", 1)
    data = data.replace(f"<duration>{4 * DIVISIONS}</duration>".encode(), b"<duration>192</duration>", 1)
    assert [bar.length for bar in cut(data, "1-2").bars] == [4, 4]


@pytest.mark.parametrize("bad", ["0", "-4", "x", ""])
def test_g44_divisions_that_divide_nothing(bad: str) -> None:
    data = bars_of("C5:4", f"{attributes(f'<divisions>{bad}</divisions>')} C5:4")
    excerpt = cut(data, "2")
    assert excerpt.bars[0].length == 4
    assert f"repaired divisions in bar 2: '{bad}' is not possible; left out" in said(excerpt)


def test_g44_a_way_back_past_the_start_of_the_bar_ends_there() -> None:
    far = f"<backup><duration>{9 * DIVISIONS}</duration></backup>"
    excerpt = cut(bars_of("C5:4", f"C5:4 {far} {note('A4:4', '2')}", "C5:4"), "2")
    assert excerpt.tree().findtext(".//backup/duration") == str(4 * DIVISIONS)
    assert "repaired backup in bar 2: it went past the start of the bar; it ends there" in said(excerpt)


@pytest.mark.parametrize(
    "move",
    ["<backup/>", "<forward><duration>-3</duration></forward>", "<backup><duration>x</duration></backup>"],
)
def test_g44_a_move_that_cannot_be_followed_is_left_out_with_a_warning(move: str) -> None:
    excerpt = cut(bars_of("C5:4", f"C5:2 {move} D5:2", "C5:4"), "2")
    assert excerpt.bars[0].length == 4
    assert any("cannot be followed; left out" in line for line in warnings(said(excerpt)))


def test_g44_a_chord_on_a_rest() -> None:
    rest = f"<note><rest/><duration>{2 * DIVISIONS}</duration><voice>1</voice></note>"
    high = (
        f"<note><chord/><pitch><step>{{}}</step><octave>5</octave></pitch><duration>{2 * DIVISIONS}</duration>"
        "<voice>1</voice></note>"
    )
    excerpt = cut(bars_of("C5:4", f"{rest} {high.format('D')} {high.format('F')} C5:2", "C5:4"), "2")
    assert texts(excerpt, "step") == ["D", "F", "C"]
    assert len(list(excerpt.tree().iter("chord"))) == 1
    assert excerpt.bars[0].length == 4
    assert "repaired chord in bar 2: it stood on a rest; the rest is left out" in said(excerpt)


def test_g44_a_rest_in_a_chord() -> None:
    rest = f"<note><chord/><rest/><duration>{2 * DIVISIONS}</duration><voice>1</voice></note>"
    excerpt = cut(bars_of("C5:4", f"C5:2 {rest} D5:2"), "2")
    assert texts(excerpt, "step") == ["C", "D"]
    assert "repaired chord in bar 2: a rest stood in it; left out" in said(excerpt)


def test_g44_children_in_a_wrong_order_are_put_right() -> None:
    wrong = (
        f"<note><voice>1</voice><duration>{4 * DIVISIONS}</duration><type>whole</type>"
        "<pitch><octave>5</octave><alter>1</alter><step>C</step></pitch></note>"
    )
    excerpt = cut(bars_of("C5:4", wrong), "2")
    assert [child.tag for child in next(excerpt.tree().iter("note"))] == [
        "pitch",
        "duration",
        "voice",
        "type",
    ]
    assert "repaired note in bar 2: its parts were in a wrong order" in said(excerpt)
    assert "repaired pitch in bar 2: its parts were in a wrong order" in said(excerpt)


@pytest.mark.parametrize(
    ("inside", "length"),
    [("C5:4 D5:2", 6), ("C5:1", 1), ("C5:9", 9)],
)
def test_g44_wrong_bar_totals_are_cut_as_they_are_and_named(inside: str, length: int) -> None:
    excerpt = cut(bars_of("C5:4", "C5:4", inside, "C5:4", "C5:4"), "3", 1)
    assert excerpt.bars[1].length == length
    (line,) = warnings(said(excerpt))
    assert line.startswith("warning bar too")
    assert " in bar 3: " in line


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"<fifths>2</fifths>", b"<fifths>many</fifths>"),
        (b"<beats>4</beats>", b"<beats>four</beats>"),
        (b"<beats>4</beats>", b"<beats>0</beats>"),
        (b"<beat-type>4</beat-type>", b"<beat-type>0</beat-type>"),
        (b"<beats>4</beats>", b"<beats>" + b"9" * 5000 + b"</beats>"),
        (b"<beats>4</beats>", "<beats>²</beats>".encode()),
        (b"<octave>5</octave>", b"<octave>high</octave>"),
        (b"<step>C</step>", b"<step>H</step>"),
        (b"<step>C</step>", b""),
        (b"<line>2</line>", b"<line>-</line>"),
        (b"<voice>1</voice>", b"<voice/><staff>x</staff>"),
        (b'<measure number="2">', b'<measure number="">'),
        (b'<measure number="2">', b"<measure>"),
        (b"<type>whole</type>", b"<type>semibreve</type>"),
    ],
)
def test_g44_values_that_are_no_numbers_or_names(old: bytes, new: bytes) -> None:
    data = bars_of("C5:4", "C5:4", "C5:4")
    assert old in data
    broken = data.replace(old, new)
    opened = score_from_bytes(broken, "test").part()
    overview(opened.bars)
    excerpt = opened.passage("@2").cut(context=1)
    assert [bar.place for bar in excerpt.bars] == [1, 2, 3]
    assert len(list(excerpt.tree().iter("note"))) == 3


def test_g44_parts_whose_bars_differ_in_length() -> None:
    top = part([f"{FIRST} C5:4", f"C5:3 {direction('<words>Presto</words>')} C5:1", "C5:4"])
    low = part([f"{FIRST} C3:4", "C3:2", "C3:4"], part_id="P2")
    excerpt = cut(score(top, low, names=("Violin", "Cello")), "2", of="Cello")
    assert texts(excerpt, "words") == ["Presto"]
    assert [bar.length for bar in excerpt.bars] == [2]


PIECES = st.sampled_from(
    [
        "C5:1", "D5:1/2", "r:2", "E5+G5:1", WAY_BACK, "<backup/>", "<forward><duration>-7</duration></forward>",
        "<backup><duration>10000</duration></backup>", "<note/>", "<note><chord/><rest/></note>",
        "<note><grace/><chord/></note>", "<note><pitch/><duration>0</duration></note>", "<attributes/>",
        "<attributes><divisions>0</divisions></attributes>", "<attributes><divisions>7</divisions></attributes>",
        "<attributes><staves>two</staves><clef number='x'/></attributes>", "<attributes><key/><time/></attributes>",
        "<attributes><measure-style><measure-repeat type='start'>9</measure-repeat></measure-style></attributes>",
        "<attributes><measure-style><beat-repeat type='start'/></measure-style></attributes>",
        "<attributes><measure-style><multiple-rest>²</multiple-rest></measure-style></attributes>",
        "<direction/>",
        "<direction><direction-type><wedge type='stop'/></direction-type><offset>x</offset></direction>",
        "<direction><direction-type><wedge/></direction-type></direction>",
        "<direction><direction-type><metronome/></direction-type><sound tempo='-1'/></direction>",
        "<direction><direction-type><words/></direction-type></direction>", "<sound tempo='fast'/>", "<sound/>",
        "<barline><ending/></barline>", "<barline location='left'><repeat direction='x'/></barline>",
        "<note><pitch><step>C</step><octave>4</octave></pitch><duration>24</duration><tie type='stop'/></note>",
        "C5:1[<notations><slur type='start'/><slur type='stop'/><tuplet type='stop'/></notations>]",
        "C5:1[<notations><tied type='start'/></notations>]", "<harmony/>", "<figured-bass/>", "<print/>",
        "<unheard-of><deep/></unheard-of>",
    ]
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(PIECES, max_size=6).map(" ".join), min_size=1, max_size=4), st.integers(0, 3))
def test_g_any_mixture_of_faults_gets_an_answer_or_a_message(bars: list[str], at: int) -> None:
    data = bars_of(*bars)
    try:
        opened = score_from_bytes(data, "test").part()
        overview(opened.bars)
        opened.bars.info()
        excerpt = opened.passage(f"@{min(at, len(bars) - 1) + 1}").cut(context=1)
    except ExcerptsError:
        return
    again = score_from_bytes(excerpt.xml, "again").part().passage(f"@1-@{len(excerpt.bars)}").cut(context=0)
    assert [bar.length for bar in again.bars] == [bar.length for bar in excerpt.bars]
