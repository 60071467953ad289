"""What stands in front of the music in a cut: title, composer, rights, and the one part."""

from __future__ import annotations

import re
from copy import deepcopy
from typing import Final

from lxml import etree

from excerpts.musicxml import SOFTWARE, VERSION, insert_in_order

_XML_ID: Final = re.compile(r"^[A-Za-z_][\w.\-]*$")
_IDENTIFICATION_ORDER: Final = ("creator", "rights", "encoding", "source", "relation", "miscellaneous")
_MOST_PROGRAMS: Final = 128
"""MusicXML counts MIDI programs from 1 to 128 (W3C MusicXML 4.0, midi-128)."""
_REFERENCES: Final = ("midi-instrument", "midi-device", "instrument", "instrument-change", "play")
"""Elements whose `id` names an instrument."""
_NAMED: Final = ("part", "score-part", "score-instrument", *_REFERENCES)
"""Elements whose ids are looked after by `mend_instruments`, or are the part's own."""
PART_ID: Final = "P1"
"""Id of the only part of an excerpt; ids in sources are not always legal in XML."""


def document(
    root: etree._Element, score_part: etree._Element | None
) -> tuple[etree._Element, etree._Element]:
    """Make an empty score for one part of a source.

    Title, number, creators, rights and source go along, since an excerpt names where it comes from. Page
    sizes, page texts, pictures, links and the name of the program that encoded the source do not.

    Returns:
        The `<score-partwise>` and the `<part>` in it that waits for bars.
    """
    score = etree.Element("score-partwise", version=VERSION)
    for tag in ("work", "movement-number", "movement-title", "identification"):
        found = root.find(tag)
        if found is not None:
            copy = deepcopy(found)
            for child in [c for c in copy if c.tag in ("opus", "encoding", "miscellaneous")]:
                copy.remove(child)
            if len(copy) or (copy.text or "").strip():
                score.append(copy)
    _sign(score)
    part_list = etree.SubElement(score, "part-list")
    part_list.append(_score_part(score_part))
    return score, etree.SubElement(score, "part", id=PART_ID)


def _sign(score: etree._Element) -> None:
    """Say who wrote this file: by that the program knows later that it may write over it."""
    identification = score.find("identification")
    if identification is None:
        identification = etree.SubElement(score, "identification")
    encoding = etree.Element("encoding")
    etree.SubElement(encoding, "software").text = SOFTWARE
    insert_in_order(identification, encoding, _IDENTIFICATION_ORDER)


def _score_part(source: etree._Element | None) -> etree._Element:
    if source is None:
        head = etree.Element("score-part", id=PART_ID)
        etree.SubElement(head, "part-name")
        return head
    head = deepcopy(source)
    head.set("id", PART_ID)
    for child in [c for c in head if c.tag in ("part-link", "group")]:
        head.remove(child)
    if head.find("part-name") is None:
        head.insert(0, etree.Element("part-name"))
    return head


def mend_instruments(score: etree._Element) -> list[str]:
    """Make the ids of instruments legal and unique; take out references to instruments that are not there.

    Returns:
        What was done, in words; empty where nothing was wrong.
    """
    done: list[str] = []
    new_ids: dict[str, str] = {}
    for number, instrument in enumerate(score.iter("score-instrument"), start=1):
        old = instrument.get("id") or ""
        legal = _XML_ID.match(old) is not None and old != PART_ID and old not in new_ids.values()
        new_ids[old] = old if legal else f"{PART_ID}-I{number}"
        if not legal:
            done.append(f"instrument id '{old}' is not legal; renamed")
        instrument.set("id", new_ids[old])
    for reference in list(score.iter(*_REFERENCES)):
        done += _refer(reference, new_ids)
    for program in list(score.iter("midi-program")):
        told, parent = (program.text or "").strip(), program.getparent()
        if parent is not None and not (told.isdecimal() and 1 <= int(told) <= _MOST_PROGRAMS):
            parent.remove(program)
            done.append(f"there is no MIDI program {told or '(none)'}; left out")
    return list(dict.fromkeys(done))


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

    Returns:
        What was done, in words; empty where nothing was wrong.
    """
    seen = {PART_ID, *(str(element.get("id")) for element in score.iter("score-instrument"))}
    done: list[str] = []
    for element in score.iter():
        told = element.get("id")
        if told is None or element.tag in _NAMED:
            continue
        if _XML_ID.match(told) is None or told in seen:
            del element.attrib["id"]
            done.append(f"the id '{told[:40]}' of a <{element.tag!s}> is not legal or comes twice; left out")
        seen.add(told)
    return done
