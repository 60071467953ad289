"""Hazards of the header and of references: parts, instruments, ids, the old page, versions."""

from __future__ import annotations

import pytest
from lxml import etree

from excerpts.score import score_from_bytes
from tests.music import FIRST, bars_of, part, score
from tests.schema import schema_errors
from tests.score.cutting import bar_at, cut, direction, said

INSTRUMENT = (
    "</part-name><score-instrument id='{0}'><instrument-name>Violin</instrument-name></score-instrument>"
    "<midi-device id='{0}' port='1'/><midi-instrument id='{0}'><midi-channel>1</midi-channel>"
    "<midi-program>41</midi-program></midi-instrument>"
)


def with_instrument(identifier: str, inside: str = "C5:4") -> bytes:
    return bars_of(inside, "C5:4").replace(b"</part-name>", INSTRUMENT.format(identifier).encode())


# E35 parts and groups


def test_e35_one_part_is_kept_and_the_groups_are_dropped() -> None:
    data = score(
        *[part([f"{FIRST} C5:4"], part_id=f"P{n}") for n in (1, 2, 3)], names=("Violin", "Viola", "Cello")
    )
    start = b"<part-group type='start' number='1'><group-symbol>bracket</group-symbol></part-group>"
    data = data.replace(b"<part-list>", b"<part-list>" + start)
    data = data.replace(b"</part-list>", b"<part-group type='stop' number='1'/></part-list>")
    excerpt = cut(data, "1", of="Viola")
    (listed,) = excerpt.tree().iterfind("part-list/*")
    assert (listed.get("id"), listed.findtext("part-name")) == ("P1", "Viola")
    assert [p.get("id") for p in excerpt.tree().findall("part")] == ["P1"]


def test_e35_parts_in_another_order_than_their_list() -> None:
    low = part([f"{FIRST} C3:4"], part_id="P2")
    top = part([f"{FIRST} C5:4"])
    data = score(low, top, names=("Violin", "Cello"))
    assert [(info.name, info.place) for info in score_from_bytes(data, "test").parts] == [
        ("Cello", 1),
        ("Violin", 2),
    ]
    assert cut(data, "1", of="Cello").tree().findtext(".//pitch/octave") == "3"


# E36 ids


@pytest.mark.parametrize("identifier", ["9", "#1", "P1", "Violin 1"])
def test_e36_an_instrument_id_that_xml_forbids_or_that_is_the_parts_own(identifier: str) -> None:
    use = f"C5:4[<instrument id='{identifier}'/>]".replace("[<instrument", "[<x/><instrument").replace(
        "<x/>", ""
    )
    excerpt = cut(with_instrument(identifier, use), "1")
    names = {e.get("id") for e in excerpt.tree().iter("score-instrument", "midi-device", "midi-instrument")}
    assert names == {"P1-I1"}
    assert any(line.startswith("repaired instrument") for line in said(excerpt))


def test_e36_a_reference_to_an_instrument_that_is_not_there() -> None:
    play = direction(
        "<words>x</words>", after="<sound tempo='60'><play id='P7-I1'><mute>on</mute></play></sound>"
    )
    excerpt = cut(with_instrument("P1-I1", f"{play} C5:4"), "1")
    assert excerpt.tree().find(".//play[@id]") is None
    assert excerpt.tree().findtext(".//play/mute") == "on"


@pytest.mark.parametrize("program", ["0", "129", "", "x"])
def test_e36_a_midi_program_that_there_is_not(program: str) -> None:
    data = with_instrument("P1-I1").replace(b">41<", f">{program}<".encode())
    excerpt = cut(data, "1")
    assert excerpt.tree().find(".//midi-program") is None
    assert any("MIDI program" in line for line in said(excerpt))


def test_e36_a_part_without_an_id_and_one_of_an_illegal_id() -> None:
    for part_tag in (b"<part>", b'<part id="1 st">'):
        data = bars_of("C5:4", "C5:4").replace(b'<part id="P1">', part_tag)
        assert cut(data, "2").origin.part == "Violin"


def test_e36_ids_of_notes_stay_unique() -> None:
    words = "<words id='w1'>Andante</words>"
    tempo = "<metronome id='m1'><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
    types = f"<direction-type>{words}</direction-type><direction-type>{tempo}</direction-type>"
    both = f"<direction id='d1'>{types}</direction>"
    data = bars_of(f"{both} C5:4", "C5:4", "C5:4").replace(b"<note>", b"<note id='n1'>")
    excerpt = cut(data, "1-3")
    ids = [e.get("id") for e in excerpt.tree().iter() if e.get("id") is not None and e.tag != "part"]
    assert len(ids) == len(set(ids))
    assert "n1" in ids
    cut(data, "2-3")


def test_e36_links_and_players() -> None:
    player = b"</part-name><player id='player1'><player-name>Mila</player-name></player>"
    link = "<link xmlns:xlink='http://www.w3.org/1999/xlink' xlink:href='http://example.org/x.png'/>"
    data = bars_of(f"{link} C5:4").replace(b"</part-name>", player)
    excerpt = cut(data, "1")
    assert excerpt.tree().find(".//link") is None
    assert b"example.org" not in excerpt.xml
    assert excerpt.tree().findtext(".//player-name") == "Mila"


# E37 the old page


def test_e37_the_old_page_is_left_behind_but_not_the_numbering() -> None:
    head = (
        "<defaults><page-layout><page-height>1500</page-height><page-width>1000</page-width></page-layout></defaults>"
        "<credit page='1'><credit-words default-x='500'>Concerto</credit-words></credit>"
    )
    layout = (
        "<print new-page='yes' new-system='yes'><system-layout><system-distance>90</system-distance></system-layout>"
        "<staff-layout number='1'><staff-distance>60</staff-distance></staff-layout>"
        "<measure-numbering>system</measure-numbering>"
        "<part-name-display><display-text>Vl.</display-text></part-name-display></print>"
    )
    data = score(part([f"{FIRST} C5:4", f"{layout} C5:4"]), head=head)
    excerpt = cut(data, "2")
    assert excerpt.tree().find("defaults") is None
    assert excerpt.tree().find("credit") is None
    printed = bar_at(excerpt, 0).find("print")
    assert printed is not None
    assert ([child.tag for child in printed], dict(printed.attrib)) == (
        ["measure-numbering", "part-name-display"],
        {},
    )


# E38 versions


@pytest.mark.parametrize(
    "version", [' version="1.1"', ' version="2.0"', "", ' version="3.1"', ' version="4.0"']
)
def test_e38_the_cut_says_4_0_and_is_valid(version: str) -> None:
    data = bars_of("C5:4", "C5:4").replace(b' version="4.0"', version.encode())
    excerpt = cut(data, "2")
    assert excerpt.tree().get("version") == "4.0"
    assert etree.fromstring(excerpt.xml).tag == "score-partwise"
    assert schema_errors(excerpt.xml) == []
