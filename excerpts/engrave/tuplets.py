"""Tuplets without a sign, marked in the private copy.

verovio 6.4.1 takes the time of a tuplet from its `<tuplet>` alone: notes that only have a time modification are set as
long as their plain values, out of line with the other voices.
"""

from __future__ import annotations

from lxml import etree

from excerpts.musicxml.format import NOTE_ORDER, insert_in_order
from excerpts.musicxml.tuplets import tuplet_notes, unmarked_groups


def mark_tuplets(root: etree._Element) -> None:
    """Put a tuplet that prints nothing over each group that has none; changes the tree."""
    if next(root.iter("time-modification"), None) is None:
        return
    for part in root.iterfind("part"):
        for group in unmarked_groups(list(tuplet_notes(part.findall("measure")))):
            _put(group[0].element, {"type": "start", "bracket": "no", "show-number": "none"})
            _put(group[-1].element, {"type": "stop"})


def _put(note: etree._Element, attributes: dict[str, str]) -> None:
    notations = note.find("notations")
    if notations is None:
        notations = etree.Element("notations")
        insert_in_order(note, notations, NOTE_ORDER)
    etree.SubElement(notations, "tuplet", attributes)
