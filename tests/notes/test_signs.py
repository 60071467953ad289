"""A sign that is read from MusicXML and written again is the element that it was.

Default tier: hand-made elements, generated signs, eight files of music21's corpus. Corpus tier: all of its files.
Only white space around numbers and types, which mean the same without it, may go.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from excerpts.musicxml.elements import (
    Articulation,
    Barline,
    BeatUnit,
    Bow,
    Clef,
    Direction,
    Dynamics,
    Fingering,
    Key,
    Look,
    Metronome,
    Offset,
    Opaque,
    Ornament,
    Sign,
    Signatures,
    Slur,
    Sound,
    StringNumber,
    Tied,
    Time,
    Transpose,
    Wedge,
    Words,
)
from excerpts.notes.note_marks import CONTAINERS
from excerpts.notes.read_signs import read_beam, read_notation, read_placed, read_time_modification
from excerpts.notes.write_signs import placed_text, sign_text, time_modification_text
from tests.notes.sources import corpus, parse

_SPACE = re.compile(r"(?<=>)\s+(?=[^<\s])|(?<=[^>\s])\s+(?=</)")


def _text(element: etree._Element) -> str:
    return etree.tostring(element, encoding="unicode", with_tail=False)


def _same(element: etree._Element, written: str) -> bool:
    """Whether what was written is the element, but for white space around its texts."""
    own, made = _text(element), _text(etree.fromstring(written))
    return own == made or _SPACE.sub("", own) == _SPACE.sub("", made)


def _written(root: etree._Element) -> Iterator[tuple[etree._Element, str]]:
    """Every element of a score that becomes a sign, with the text that it is written as."""
    for notations in root.iter("notations"):
        for child in notations:
            for element in child if child.tag in CONTAINERS else [child]:
                yield (
                    element,
                    sign_text(read_notation(element, str(child.tag) if child.tag in CONTAINERS else "")),
                )
    for element in root.iter("beam"):
        yield element, sign_text(read_beam(element))
    for element in root.iter("time-modification"):
        yield element, time_modification_text(read_time_modification(element))
    for element in root.iter("accidental", "notehead", "lyric", "instrument"):
        yield element, sign_text(read_notation(element))
    for element in root.iterfind("part/measure/*"):
        if element.tag not in {"note", "backup", "forward"}:
            yield element, sign_text(read_placed(element))


def _changed(root: etree._Element) -> list[str]:
    blanks = etree.fromstring(
        etree.tostring(root), etree.XMLParser(remove_blank_text=True, remove_comments=True)
    )
    return [_text(element) for element, text in _written(blanks) if not _same(element, text)]


@pytest.mark.parametrize(
    "xml",
    [
        '<attributes><divisions>12</divisions><key number="2"><fifths>-2</fifths><mode>minor</mode></key></attributes>',
        "<attributes><key><cancel>2</cancel><fifths>0</fifths></key></attributes>",
        "<attributes><key><key-step>F</key-step><key-alter>1</key-alter></key></attributes>",
        '<attributes><time symbol="cut" print-object="no"><beats>2</beats><beat-type>2</beat-type></time></attributes>',
        "<attributes><time><beats>3+2</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>"
        "</attributes>",
        "<attributes><time><senza-misura/></time></attributes>",
        '<attributes><clef number="1"><sign>G</sign><line>2</line>'
        "<clef-octave-change>-1</clef-octave-change></clef></attributes>",
        "<attributes><clef><sign>percussion</sign></clef></attributes>",
        "<attributes><transpose><diatonic>0</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change>"
        "</transpose></attributes>",
        "<attributes><transpose><chromatic>0</chromatic><double/></transpose></attributes>",
        '<direction placement="above" directive="yes"><direction-type><words xml:lang="it" font-style="italic"> dim. '
        '&amp; rit.</words></direction-type><direction-type><metronome parentheses="yes"><beat-unit>quarter</beat-unit>'
        '<beat-unit-dot/><per-minute font-size="9">ca. 60</per-minute></metronome></direction-type><offset sound="yes">'
        '-1/2</offset><voice>1</voice><staff>2</staff><sound tempo="60"/></direction>',
        "<direction><direction-type><metronome><beat-unit>half</beat-unit><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "</metronome></direction-type></direction>",
        "<direction><direction-type><metronome><metronome-note><metronome-type>half</metronome-type></metronome-note>"
        "</metronome></direction-type></direction>",
        '<direction><direction-type id="a"><dynamics default-y="-70"><mf/><other-dynamics>poss.</other-dynamics>'
        '</dynamics></direction-type><direction-type><wedge number="2" type="crescendo" spread="0"/></direction-type>'
        "</direction>",
        '<direction><direction-type><octave-shift size="8" type="down"/></direction-type></direction>',
        '<direction><direction-type><rehearsal enclosure="square">A</rehearsal></direction-type></direction>',
        '<barline location="left"><bar-style>heavy-light</bar-style><repeat direction="forward"/></barline>',
        '<barline location="right"><bar-style color="#f00">light-heavy</bar-style></barline>',
        '<sound tempo="90" dynamics="80"><midi-instrument id="P1"><volume>80</volume></midi-instrument></sound>',
        '<harmony><root><root-step>C</root-step></root><kind text="7">dominant</kind><offset>1/2</offset></harmony>',
        '<print new-system="yes"><system-layout><system-distance>80</system-distance></system-layout></print>',
    ],
)
def test_an_element_of_a_bar_is_the_same_after_reading_and_writing(xml: str) -> None:
    element = etree.fromstring(xml)
    assert _text(etree.fromstring(sign_text(read_placed(element)))) == _text(element)


def test_lengths_of_directions_are_written_in_divisions() -> None:
    xml = '<direction><direction-type><words>a</words></direction-type><offset sound="yes">-1/2</offset></direction>'
    text = placed_text(read_placed(etree.fromstring(xml)), lambda length: int(length * 12))
    assert etree.fromstring(text).findtext("offset") == "-6"
    figures = "<figured-bass><figure><figure-number>6</figure-number></figure><duration>3/2</duration></figured-bass>"
    text = placed_text(read_placed(etree.fromstring(figures)), lambda length: int(length * 12))
    assert etree.fromstring(text).findtext("duration") == "18"


def test_what_has_a_field_is_told_by_the_field_alone() -> None:
    slur = read_notation(etree.fromstring('<slur number="2" placement="above" type="start"/>'))
    assert slur == Slur("start", "2", (("number", "2"), ("placement", "above"), ("type", "start")))
    assert isinstance(slur, Slur)
    turned = Slur("stop", slur.number, slur.look)
    assert sign_text(turned) == '<slur number="2" placement="above" type="stop"/>'


_LOOKS: st.SearchStrategy[Look] = st.sampled_from(
    [(), (("placement", "above"),), (("default-x", "1"), ("color", "#fff"))]
)
_TEXTS = st.text("abc &<>\"'éß", min_size=1, max_size=5)
_NUMBERS = st.sampled_from(["", "1", "6"])
_UNITS = st.builds(BeatUnit, st.sampled_from(["half", "quarter", "eighth"]), st.integers(0, 2))
_AT_NOTES: st.SearchStrategy[tuple[Sign, str]] = st.one_of(
    st.tuples(st.builds(Slur, st.sampled_from(["start", "stop"]), _NUMBERS, _LOOKS), st.just("")),
    st.tuples(st.builds(Tied, st.sampled_from(["start", "let-ring"]), _LOOKS), st.just("")),
    st.tuples(
        st.builds(Articulation, st.sampled_from(["staccato", "accent"]), st.just(""), _LOOKS),
        st.just("articulations"),
    ),
    st.tuples(
        st.builds(Ornament, st.just("tremolo"), st.just("3"), st.just("start"), _NUMBERS, _LOOKS),
        st.just("ornaments"),
    ),
    st.tuples(st.builds(Bow, st.sampled_from(["up-bow", "down-bow"]), _LOOKS), st.just("technical")),
    st.tuples(st.builds(Fingering, _TEXTS, _LOOKS), st.just("technical")),
    st.tuples(st.builds(StringNumber, st.sampled_from(["1", "4"]), _LOOKS), st.just("technical")),
)
_IN_DIRECTIONS: st.SearchStrategy[Sign] = st.one_of(
    st.builds(Words, _TEXTS, _LOOKS),
    st.builds(Dynamics, st.just(("f",)), _LOOKS),
    st.builds(Wedge, st.sampled_from(["crescendo", "stop"]), _NUMBERS, _LOOKS),
    st.builds(Metronome, _UNITS, st.sampled_from(["60", "ca. 72"]), st.none(), _LOOKS, _LOOKS),
    st.builds(Metronome, _UNITS, st.just(""), _UNITS, _LOOKS),
)
_IN_BARS: st.SearchStrategy[Sign] = st.one_of(
    st.builds(Direction.of, _IN_DIRECTIONS, _LOOKS, st.none() | st.builds(Sound, st.just("72.5"))),
    st.builds(
        lambda *signs: Signatures(signs),
        st.builds(Key, st.integers(-7, 7), st.sampled_from(["", "minor"])),
        st.builds(Time, st.just((("3+2", "8"),)), _LOOKS),
        st.builds(Clef, st.sampled_from(["G", "C"]), st.integers(1, 5), st.integers(-1, 1)),
        st.builds(Transpose, st.integers(-9, 9), st.none() | st.integers(-5, 5), st.integers(-1, 1)),
    ),
    st.builds(Barline, st.sampled_from(["", "light-light"]), _LOOKS, st.just((Opaque("segno", "<segno/>"),))),
)


@given(_AT_NOTES)
def test_any_sign_at_a_note_reads_back(pair: tuple[Sign, str]) -> None:
    """Reading the text of a sign gives a sign of its class that is written as the same text."""
    sign, holder = pair
    back = read_notation(etree.fromstring(sign_text(sign)), holder)
    assert type(back) is type(sign)
    assert (back.name, back.edge, back.number, back.text) == (sign.name, sign.edge, sign.number, sign.text)
    assert sign_text(back) == sign_text(sign)


@given(_IN_BARS)
def test_any_sign_in_a_bar_reads_back(sign: Sign) -> None:
    back = read_placed(etree.fromstring(sign_text(sign)))
    assert type(back) is type(sign)
    assert sign_text(back) == sign_text(sign)


def test_an_offset_is_a_length() -> None:
    direction = Direction.of(Words("a"))
    later = Direction(direction.types, rest=(Offset(Fraction(3, 2)),))
    assert (direction.offset, later.offset) == (Fraction(0), Fraction(3, 2))


def _files() -> list[Path]:
    suffixes = {".mxl", ".xml", ".musicxml"}
    return sorted(path for path in corpus().rglob("*") if path.suffix in suffixes)


@pytest.mark.parametrize("path", _files()[::80], ids=lambda path: path.name)
def test_signs_of_real_scores_are_the_same(path: Path) -> None:
    assert _changed(parse(path)) == []


@pytest.mark.corpus
def test_signs_of_all_the_corpus_are_the_same() -> None:
    """Corpus tier: every sign of every MusicXML file of music21's corpus."""
    wrong: dict[str, list[str]] = {}
    for path in _files():
        try:
            changed = _changed(parse(path))
        except etree.XMLSyntaxError:
            continue
        if changed:
            wrong[path.name] = changed[:3]
    assert wrong == {}
