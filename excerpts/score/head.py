"""What stands in front of the music in a cut: title, composer, rights, and the parts.

Parts are called P1, P2 … in an excerpt, since their ids in sources are not always legal in XML.
"""

from __future__ import annotations

import re
from copy import deepcopy
from typing import Final

from lxml import etree

from excerpts.musicxml.format import SOFTWARE, VERSION, insert_in_order
from excerpts.score.head_rules import XML_ID

_IDENTIFICATION_ORDER: Final = ("creator", "rights", "encoding", "source", "relation", "miscellaneous")
_MOST_PROGRAMS: Final = 128
"""MusicXML counts MIDI programs from 1 to 128 (W3C MusicXML 4.0, midi-128)."""
_REFERENCES: Final = ("midi-instrument", "midi-device", "instrument", "instrument-change", "play")
"""Elements whose `id` names an instrument."""
_NAMED: Final = ("part", "score-part", "score-instrument", *_REFERENCES)
"""Elements whose ids are looked after by `mend_instruments`, or are the part's own."""


def document(root: etree._Element, listed: list[etree._Element | None]) -> etree._Element:
    """Make an empty score for some parts of a source.

    Title, number, creators, rights and source go along, since an excerpt names where it comes from. Page
    sizes, page texts, pictures, links and the name of the program that encoded the source do not.

    Args:
        root: The source.
        listed: The `<score-part>` of each part, None where the source has none.

    Returns:
        The `<score-partwise>`, with a `<part>` for each that waits for bars.
    """
    score = etree.Element("score-partwise", version=VERSION)
    for tag in ("work", "movement-number", "movement-title", "identification"):
        element = in_head(root, tag)
        if element is not None:
            copy = _without_sources(element)
            if len(copy) or (copy.text or "").strip():
                score.append(copy)
    _sign(score)
    part_list = etree.SubElement(score, "part-list")
    for number, part in enumerate(listed, start=1):
        part_list.append(_score_part(part, f"P{number}"))
        etree.SubElement(score, "part", id=f"P{number}")
    if len(listed) > 1:
        _group(part_list, root, listed)
    return score


def in_head(root: etree._Element, tag: str) -> etree._Element | None:
    """The first element of a name in front of a score's parts: in its place, else wherever it was put."""
    element = root.find(tag)
    if element is None and tag != "identification":  # a part may have one of its own
        for child in root.iterchildren(
            "work", "movement-number", "movement-title", "identification", "defaults"
        ):
            element = next(child.iter(tag), None) if element is None else element
    return element


def _without_sources(element: etree._Element) -> etree._Element:
    """A copy without what tells of the source's file and the program that wrote it."""
    copy = deepcopy(element)
    copy.tail = None
    for child in copy.findall("opus") + copy.findall("encoding") + copy.findall("miscellaneous"):
        copy.remove(child)
    return copy


def _group(part_list: etree._Element, root: etree._Element, listed: list[etree._Element | None]) -> None:
    """Bracket the parts as the source does; a bracket that has no beginning or no end is left out."""
    source = root.find("part-list")
    groups = [] if source is None else source.findall("part-group")
    places = {part: number for number, part in enumerate(listed)}
    for start in groups:
        number = start.get("number") or "1"
        later = (g for g in start.itersiblings("part-group") if (g.get("number") or "1") == number)
        stop = next(later, None)
        if start.get("type") != "start" or stop is None or stop.get("type") != "stop":
            continue
        inside = [places[p] for p in start.itersiblings("score-part") if p in places and _before(p, stop)]
        if inside:
            entries = part_list.findall("score-part")
            for mark, entry, behind in ((start, entries[min(inside)], 0), (stop, entries[max(inside)], 1)):
                copy = deepcopy(mark)
                copy.set("number", number)
                part_list.insert(part_list.index(entry) + behind, copy)


def _before(first: etree._Element, second: etree._Element) -> bool:
    parent = first.getparent()
    return parent is not None and parent.index(first) < parent.index(second)


def _sign(score: etree._Element) -> None:
    """Say who wrote this file: by that the program knows later that it may write over it."""
    identification = score.find("identification")
    if identification is None:
        identification = etree.SubElement(score, "identification")
    encoding = etree.Element("encoding")
    etree.SubElement(encoding, "software").text = SOFTWARE
    insert_in_order(identification, encoding, _IDENTIFICATION_ORDER)


def _score_part(source: etree._Element | None, part_id: str) -> etree._Element:
    if source is None:
        head = etree.Element("score-part", id=part_id)
        etree.SubElement(head, "part-name")
        return head
    head = deepcopy(source)
    head.set("id", part_id)
    for child in [c for c in head if c.tag in ("part-link", "group")]:
        head.remove(child)
    for own in head.findall("identification"):
        head.replace(own, _without_sources(own))
    return head


def mend_instruments(score: etree._Element) -> list[tuple[int, str]]:
    """Make the ids of instruments legal and unique; take out references to instruments that are not there.

    Gives what was done, in words, with the index of the part.
    """
    taken = {str(part.get("id")) for part in score.findall("part")}
    done: list[tuple[int, str]] = []
    heads = score.findall("part-list/score-part")
    for number, (head, part) in enumerate(zip(heads, score.findall("part"), strict=True)):
        lines = _mend_instruments_of(head, part, taken)
        done += [(number, line) for line in dict.fromkeys(lines)]
    return done


def _mend_instruments_of(head: etree._Element, part: etree._Element, taken: set[str]) -> list[str]:
    done: list[str] = []
    new_ids: dict[str, str] = {}
    for number, instrument in enumerate(head.iter("score-instrument"), start=1):
        old = instrument.get("id") or ""
        legal = re.fullmatch(XML_ID, old) is not None and old not in taken
        new_ids[old] = old if legal else f"{head.get('id')}-I{number}"
        if not legal:
            done.append(f"instrument id '{old}' is not legal; renamed")
        taken.add(new_ids[old])
        instrument.set("id", new_ids[old])
    for owner in (head, part):
        for reference in list(owner.iter(*_REFERENCES)):
            done += _refer(reference, new_ids)
    for program in list(head.iter("midi-program")):
        midi, parent = (program.text or "").strip(), program.getparent()
        if parent is not None and not (midi.isdecimal() and 1 <= int(midi) <= _MOST_PROGRAMS):
            parent.remove(program)
            done.append(f"there is no MIDI program {midi or '(none)'}; left out")
    return done


def _refer(reference: etree._Element, new_ids: dict[str, str]) -> list[str]:
    """Point a reference at the new id of its instrument, or take it out."""
    named, parent = reference.get("id"), reference.getparent()
    if named is None or parent is None or (reference.tag == "instrument" and parent.tag != "note"):
        return []
    if named in new_ids:
        reference.set("id", new_ids[named])
        return []
    if reference.tag == "play":
        del reference.attrib["id"]
    else:
        parent.remove(reference)
    return [f"<{reference.tag!s}> named an instrument that the part does not have; left out"]


def mend_ids(score: etree._Element) -> list[str]:
    """Take out ids of notes and marks that XML forbids or that come twice; nothing in a cut points at them.

    Gives what was done, in words.
    """
    seen = {str(element.get("id")) for element in score.iter("score-part", "score-instrument")}
    done: list[str] = []
    for element in score.iter():
        ident = element.get("id")
        if ident is None or element.tag in _NAMED:
            continue
        if re.fullmatch(XML_ID, ident) is None or ident in seen:
            del element.attrib["id"]
            done.append(f"the id '{ident[:40]}' of a <{element.tag!s}> is not legal or comes twice; left out")
        seen.add(ident)
    return done
