"""The head of a cut is valid whatever the source's is, and as in the source where that is valid.

Outside check: the W3C's MusicXML 4.0 schema.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from excerpts.score.whole import whole_passage
from tests.music import FIRST, part, score
from tests.schema import schema_errors
from tests.score.cutting import cut, said

HEAD = """<work><work-number>K. 458</work-number><work-title>Quartet</work-title></work>
<movement-number>2</movement-number><movement-title>Menuetto</movement-title>
<identification><creator type='composer'>Anon.</creator><creator type='lyricist'>None</creator><rights>Free</rights>
<encoding><software>Some</software><encoding-date>2020-01-01</encoding-date></encoding><source>A print</source>
<relation type='print'>Another</relation>
<miscellaneous><miscellaneous-field name='a'>b</miscellaneous-field></miscellaneous></identification>"""
LISTED = """<part-group type='start' number='1'><group-name font-size='9' justify='left'>Strings</group-name>
<group-name-display print-object='no'><display-text xml:lang='de' underline='1'>Streicher</display-text>
</group-name-display><group-symbol color='#FF0000'>bracket</group-symbol><group-barline>yes</group-barline>
<group-time/></part-group>
<score-part id='P1'><identification><creator type='arranger'>No one</creator><encoding><software>Some</software>
</encoding></identification><part-name default-x='3.5' print-object='yes' font-weight='bold'>Violin</part-name>
<part-name-display><display-text font-family='serif, sans'>Violin in B</display-text><accidental-text>flat
</accidental-text></part-name-display><part-abbreviation>Vl.</part-abbreviation>
<score-instrument id='I1'><instrument-name>Violin</instrument-name><instrument-sound>strings.violin</instrument-sound>
<ensemble>12</ensemble><virtual-instrument><virtual-library>Any</virtual-library></virtual-instrument>
</score-instrument><score-instrument id='I2'><instrument-name>Mute</instrument-name><solo/></score-instrument>
<player id='pl'><player-name>Mila</player-name></player>
<midi-device port='2' id='I1'/><midi-instrument id='I1'><midi-channel>3</midi-channel><midi-program>41</midi-program>
<volume>78.7402</volume><pan>-12.5</pan></midi-instrument><midi-instrument id='I2'><midi-bank>12</midi-bank>
</midi-instrument></score-part>
<score-part id='P2'><part-name>Cello</part-name></score-part><part-group type='stop' number='1'/>"""


def full() -> bytes:
    """A score whose head has everything that a cut keeps, and is valid."""
    bare = score(part([f"{FIRST} D5:4"]), part([f"{FIRST} D4:4"], part_id="P2"), names=("", ""), head=HEAD)
    before, _, after = bare.partition(b"<part-list>")
    text = LISTED.replace("flat\n", "flat")
    return before + b"<part-list>" + text.encode() + b"</part-list>" + after.partition(b"</part-list>")[2]


def _text(tree: etree._Element, path: str) -> bytes:
    found = tree.find(path)
    assert found is not None
    return etree.tostring(found, with_tail=False)


def changed(change: Callable[[etree._Element], object]) -> bytes:
    tree = etree.fromstring(full())
    change(tree)
    return etree.tostring(tree)


def heads(excerpt: Excerpt) -> list[str]:
    return [line.detail for line in excerpt.report if line.what == "head"]


def test_a_valid_head_stays_as_it_is_and_nothing_is_said_of_it() -> None:
    assert schema_errors(full()) == []
    excerpt = cut(full(), "1")
    assert said(excerpt) == []
    tree, source = (
        excerpt.tree(blanks=False),
        etree.fromstring(full(), etree.XMLParser(remove_blank_text=True)),
    )
    for encoding in source.findall("part-list/score-part/identification/encoding"):
        encoding.getparent().remove(encoding)  # type: ignore[union-attr]
    assert _text(tree, "part-list/score-part") == _text(source, "part-list/score-part")
    for tag in ("work", "movement-number", "movement-title"):
        assert _text(tree, tag) == _text(source, tag)
    kept = ["creator", "creator", "rights", "encoding", "source", "relation"]
    assert [child.tag for child in tree.find("identification")] == kept  # type: ignore[union-attr]


def _into(path: str, text: str) -> Callable[[etree._Element], None]:
    def change(tree: etree._Element) -> None:
        found = tree.find(path)
        assert found is not None
        found.insert(0, etree.fromstring(text))

    return change


def _set(path: str, name: str, value: str) -> Callable[[etree._Element], None]:
    def change(tree: etree._Element) -> None:
        found = tree.find(path)
        assert found is not None
        found.set(name, value)

    return change


def _say(path: str, text: str) -> Callable[[etree._Element], None]:
    def change(tree: etree._Element) -> None:
        found = tree.find(path)
        assert found is not None
        found.text = text

    return change


def _without_name(tree: etree._Element) -> None:
    name = tree.find(".//part-name")
    assert name is not None
    name.getparent().remove(name)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_set("work", "lang", "de"), "the attribute lang of <work> may not stand there"),
        (_set("work/work-title", "type", "x"), "the attribute type of <work-title> may not stand there"),
        (_set(".//part-name", "color", "red"), "the attribute color of <part-name> cannot be 'red'"),
        (_set(".//score-instrument", "name", "x"), "the attribute name of <score-instrument> may not stand there"),
        (_into("identification", "<work/>"), "<work> may not stand in <identification>"),
        (_into("identification", "<source>X</source>"), "<source> stands twice in <identification>"),
        (_into("work", "<movement-title>X</movement-title>"), "<movement-title> may not stand in <work>"),
        (_into("identification", "<rights>X</rights>"), "the parts of <identification> were in a wrong order"),
        (_into(".//score-part", "<midi-device port='1'/>"), "the parts of <score-part> were in a wrong order"),
        (_into(".//score-part", "<midi-device port='99'/>"), "the attribute port of <midi-device> cannot be '99'"),
        (_into(".//score-part", "<midi-instrument/>"), "<midi-instrument> has no id in <score-part>"),
        (_into(".//score-instrument", "<ensemble>some</ensemble>"), "<ensemble> is 'some' in <score-instrument>"),
        (_say(".//volume", "loud"), "<volume> is 'loud' in <midi-instrument>"),
        (_say(".//pan", "200"), "<pan> is '200' in <midi-instrument>"),
        (_say(".//midi-channel", "1.0"), "<midi-channel> is '1.0' in <midi-instrument>"),
        (_say("identification", "by me"), "<identification> may have no text 'by me'"),
        (_without_name, "<score-part> has no <part-name>"),
    ],
)  # fmt: skip
def test_what_may_not_stand_in_the_head_goes_with_a_line_in_the_report(
    change: Callable[[etree._Element], None], told: str
) -> None:
    data = changed(change)
    assert schema_errors(data) != []
    excerpt = cut(data, "1")
    assert any(line.startswith(told) for line in heads(excerpt))


def test_a_work_in_the_wrong_place_still_gives_the_title() -> None:
    def misplace(tree: etree._Element) -> None:
        identification = tree.find("identification")
        work = tree.find("work")
        assert identification is not None
        assert work is not None
        identification.append(work)

    data = changed(misplace)
    assert schema_errors(data) != []
    excerpt = cut(data, "1")
    assert excerpt.tree().findtext("work/work-title") == "Quartet"
    assert excerpt.origin.title == "Quartet, Menuetto"
    assert excerpt.tree().find("identification/work") is None


def _damage(tree: etree._Element, chance: random.Random) -> None:
    """One change anywhere in the head."""
    inside = [e for e in tree.iter("*") if "part" not in (e.tag, *(a.tag for a in e.iterancestors()))][1:]
    inside = [e for e in inside if e.tag not in ("part-list", "score-part")]
    element, other = chance.choice(inside), chance.choice(inside)
    match chance.randrange(5):
        case 0:
            element.set(chance.choice(["id", "type", "color", "number", "print-object", "odd"]), "a b")
        case 1:
            element.text = chance.choice(["", "17", "-3", "x"])
        case 2:
            other.append(deepcopy(element))
        case 3:
            element.addnext(deepcopy(element))
        case _:
            element.getparent().remove(element)  # type: ignore[union-attr]


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 100_000), count=st.integers(1, 4))
def test_the_head_of_a_cut_is_valid_whatever_the_source_holds(seed: int, count: int) -> None:
    tree = etree.fromstring(full())
    chance = random.Random(seed)
    for _ in range(count):
        _damage(tree, chance)
    opened = score_from_bytes(etree.tostring(tree), "damaged")
    excerpt = opened.part("#1").passage("1").cut(0)
    assert schema_errors(excerpt.xml) == []
    assert schema_errors(whole_passage(opened, "1").cut(0).xml) == []
    again = score_from_bytes(excerpt.xml, "again").part().passage("1").cut(0)
    assert heads(again) == []
