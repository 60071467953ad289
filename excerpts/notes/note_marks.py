"""Takes the marks off a note, each kept as the source writes it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.elements import HIDDEN, Leaf
from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Notation, Printed
from excerpts.notes.raw import RawHead
from excerpts.notes.read_signs import look_of, read_beam, read_notation, read_time_modification

CONTAINERS: Final = ("ornaments", "technical", "articulations")
"""Children of `<notations>` that hold a list of marks."""

LOOK: Final = "tie-look"
"""Family of the looks of a merged tie (its side, its shape); a "tied" mark with an edge is a loose tie."""

_OWN: Final = {
    "footnote", "level", "instrument", "accidental", "notehead", "notehead-text", "lyric", "play", "listen",
}  # fmt: skip
"""Children of `<note>` that are marks as they stand."""

_PLACES: Final = {"default-x", "default-y", "relative-x", "relative-y", "print-object"}
"""Attributes of `<note>` that say where it stood on the old page, or that the event holds."""


def marks_of(head: RawHead, hidden: bool, segment: int = 0) -> list[Notation]:
    """The marks of a note, in the order of the file.

    Args:
        head: The note.
        hidden: Whether the whole event is hidden; if not, a hidden head of a chord says so itself.
        segment: Which of the tied segments it is (see `Notation`).
    """
    marks = _replacing(head, hidden, segment)
    for child in head.element:
        tag = str(child.tag)
        if tag == "notations":
            marks.extend(_notations(child, segment))
        elif tag in _OWN or (tag == "stem" and (child.text or "").strip() in {"none", "double"}):
            marks.append(Notation(read_notation(child), segment))
    return marks


def _replacing(head: RawHead, hidden: bool, segment: int) -> list[Notation]:
    """Marks that stand for an element the writer makes itself, where the source's says more."""
    note, children = head.element, head.children
    marks: list[Notation] = []
    look = tuple((key, value) for key, value in look_of(note) if key not in _PLACES)
    if note.get("print-object") == "no" and not hidden:
        look += HIDDEN
    if look:
        marks.append(Notation(Leaf("note", look=look), segment))
    grace = children.get("grace")
    if grace is not None and (set(grace.keys()) - {"slash"} or grace.get("slash") == "no"):
        marks.append(Notation(read_notation(grace), segment))
    for tag in ("rest", "unpitched"):
        element = children.get(tag)
        if element is not None and (len(element) or element.keys()):
            marks.append(Notation(read_notation(element), segment))
    return marks


def _notations(notations: etree._Element, segment: int) -> Iterator[Notation]:
    for child in notations:
        tag = str(child.tag)
        if tag in CONTAINERS:
            for mark in child:
                sign = read_notation(mark, tag)
                yield Notation(sign, segment, "" if sign.family == tag else tag)
        elif tag == "tied" and child.get("type") in {"start", "stop"}:
            if set(child.keys()) - {"type", "number"}:
                yield Notation(read_notation(child), segment, LOOK)
        else:
            yield Notation(read_notation(child), segment)


def pitch_of(head: RawHead) -> Pitch | None:
    """The written pitch of a note; None when it is unpitched."""
    pitch = head.children.get("pitch")
    if pitch is None:
        return None
    return _pitch(pitch.findtext("step"), pitch.findtext("octave"), pitch.findtext("alter"))


@lru_cache(maxsize=1024)
def _pitch(step: str | None, octave: str | None, alter: str | None) -> Pitch:
    return Pitch((step or "").strip(), int((octave or "").strip()), Fraction((alter or "0").strip()))


def printed_of(head: RawHead) -> Printed | None:
    """How a note is printed; None when the source leaves that to the reader."""
    children = head.children
    kind = (children["type"].text or "").strip() if "type" in children else ""
    if not kind and not ("rest" in children and children["rest"].get("measure") == "yes"):
        return None
    return Printed(
        type=kind,
        dots=len(head.element.findall("dot")) if "dot" in children else 0,
        modification=read_time_modification(children["time-modification"])
        if "time-modification" in children
        else None,
        beams=tuple(map(read_beam, head.element.iterchildren("beam"))) if "beam" in children else (),
    )
