"""Writes one printed note, chord or rest as `<note>` elements."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml import NOTE_ORDER, insert_in_order
from excerpts.notes.accidentals import Speller
from excerpts.notes.marks import CONTAINERS, LOOK
from excerpts.notes.model import Head, Mark, Pitch
from excerpts.notes.note import Note

NOTATIONS: Final = (
    "tied", "slur", "tuplet", "glissando", "slide", *CONTAINERS, "dynamics", "fermata", "arpeggiate",
    "non-arpeggiate", "accidental-mark", "other-notation",
)  # fmt: skip
"""Families of marks that are written inside `<notations>`."""

_REPLACED: Final = ("grace", "rest", "unpitched", "note")
"""Families of marks that stand for an element (or attributes) that the writer would make itself."""

Ticks = Callable[[Fraction], int]


def note_elements(note: Note, ticks: Ticks, speller: Speller) -> list[etree._Element]:
    """The `<note>` elements of one printed note: one, or one for each head of a chord."""
    if note.event.is_rest:
        return [_element(note, None, 0, ticks, speller)]
    return [_element(note, head, number, ticks, speller) for number, head in enumerate(note.event.heads)]


def _element(note: Note, head: Head | None, number: int, ticks: Ticks, speller: Speller) -> etree._Element:
    event = note.event
    marks = _marks_here(note, event.rest_marks if head is None else head.marks)
    element = etree.Element("note")
    if event.hidden:
        element.set("print-object", "no")
    for mark in _of(marks, "note"):
        element.attrib.update(etree.fromstring(mark.xml).attrib)
    _add_grace(element, note, marks)
    if event.cue:
        etree.SubElement(element, "cue")
    if number:
        etree.SubElement(element, "chord")
    _add_pitch(element, note, head, marks)
    if not event.grace:
        length = note.duration if head is None or head.duration is None else head.duration
        etree.SubElement(element, "duration").text = str(ticks(length))
    ties = _ties(note, head, marks)
    if not event.cue:
        for kind in ties:
            etree.SubElement(element, "tie", type=kind)
    etree.SubElement(element, "voice").text = event.voice
    _add_value(element, note, number == 0)
    _add_own(element, marks)
    if head is not None and head.pitch is not None:
        _add_accidental(element, head.pitch, "stop" in ties, speller)
    _add_notations(element, note, marks, ties, number == 0)
    return element


def _marks_here(note: Note, marks: Iterable[Mark]) -> list[Mark]:
    """The marks that stand on this segment; those of segments that are gone stand on the last one."""
    return [
        m for m in marks if m.segment == note.segment or (note.last and not 0 <= m.segment < note.segment)
    ]


def _of(marks: list[Mark], *families: str) -> list[Mark]:
    return [mark for mark in marks if mark.family in families] if marks else []


def _add_grace(element: etree._Element, note: Note, marks: list[Mark]) -> None:
    if not note.event.grace:
        return
    own = _of(marks, "grace")
    grace = etree.fromstring(own[0].xml) if own else etree.Element("grace")
    if note.event.grace.startswith("/"):
        grace.set("slash", "yes")
    element.append(grace)


def _add_pitch(element: etree._Element, note: Note, head: Head | None, marks: list[Mark]) -> None:
    replaced = _of(marks, "rest", "unpitched")
    if head is not None and head.pitch is not None:
        element.append(_pitch(head.pitch))
    elif replaced:
        element.append(etree.fromstring(replaced[0].xml))
    else:
        etree.SubElement(element, "rest" if head is None else "unpitched")
    if note.whole_bar:
        rest = element.find("rest")
        if rest is not None:
            rest.set("measure", "yes")


def _pitch(pitch: Pitch) -> etree._Element:
    element = etree.Element("pitch")
    etree.SubElement(element, "step").text = pitch.step
    if pitch.alter:
        whole = pitch.alter.denominator == 1
        etree.SubElement(element, "alter").text = str(pitch.alter if whole else float(pitch.alter))
    etree.SubElement(element, "octave").text = str(pitch.octave)
    return element


def _ties(note: Note, head: Head | None, marks: list[Mark]) -> list[str]:
    """Edges of ties on this note, stop before start: its own segments' and those it could not merge."""
    if head is None:
        return []
    edges = {mark.edge for mark in _of(marks, "tied") if mark.edge in {"start", "stop"}}
    if note.segment and not note.event.grace:
        edges.add("stop")
    if not note.last:
        edges.add("start")
    return sorted(edges, reverse=True)


def _add_value(element: etree._Element, note: Note, first: bool) -> None:
    if note.value is not None:
        etree.SubElement(element, "type").text = note.value.type
        for _ in range(note.value.dots):
            etree.SubElement(element, "dot")
    if note.modification:
        element.append(etree.fromstring(note.modification))
    if first and note.beams:
        element.extend(map(etree.fromstring, note.beams))


def _add_own(element: etree._Element, marks: list[Mark]) -> None:
    """Add the marks that are children of the note itself."""
    for mark in marks:
        if mark.family in NOTE_ORDER and mark.family not in _REPLACED:
            insert_in_order(element, etree.fromstring(mark.xml), NOTE_ORDER)


def _add_accidental(element: etree._Element, pitch: Pitch, tied: bool, speller: Speller) -> None:
    shown = element.find("accidental") is not None
    needed = "" if shown or tied else speller.needed(pitch)
    if needed:
        accidental = etree.Element("accidental")
        accidental.text = needed
        insert_in_order(element, accidental, NOTE_ORDER)
    speller.note(pitch, tied=tied and not shown)


def _add_notations(
    element: etree._Element, note: Note, marks: list[Mark], ties: list[str], first: bool
) -> None:
    if not (marks or ties or note.tuplet_edges):
        return
    notations = etree.Element("notations")
    _add_tied(notations, marks, ties)
    if first:
        for edge in sorted(note.tuplet_edges):
            tuplet = etree.SubElement(notations, "tuplet", type=edge)
            if edge == "start":
                tuplet.set("bracket", "yes" if note.bracket else "no")
    for mark in marks:
        if mark.family == "tied" or mark.family not in NOTATIONS:
            continue
        child = etree.fromstring(mark.xml)
        if mark.family not in CONTAINERS:
            notations.append(child)
            continue
        container = notations.find(mark.family)
        if container is None:
            container = etree.SubElement(notations, mark.family)
        container.append(child)
    if len(notations):
        insert_in_order(element, notations, NOTE_ORDER)


def _add_tied(notations: etree._Element, marks: list[Mark], ties: list[str]) -> None:
    """Write the ends of ties, with the source's own look where it has one, and ties left to ring."""
    looks = {mark.edge: mark for mark in _of(marks, LOOK)}
    for edge in ties:
        if edge in looks:
            notations.append(etree.fromstring(looks[edge].xml))
        else:
            etree.SubElement(notations, "tied", type=edge)
    for mark in _of(marks, "tied"):
        if mark.edge not in {"start", "stop"}:
            notations.append(etree.fromstring(mark.xml))
