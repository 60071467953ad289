"""Takes the marks off a note, each kept as the source writes it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Notation, Printed
from excerpts.notes.raw import RawHead

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
            marks.append(_mark(tag, child, segment))
    return marks


def _replacing(head: RawHead, hidden: bool, segment: int) -> list[Notation]:
    """Marks that stand for an element the writer makes itself, where the source's says more."""
    note, children = head.element, head.children
    marks: list[Notation] = []
    kept = {str(key): str(value) for key, value in note.items() if key not in _PLACES}
    if note.get("print-object") == "no" and not hidden:
        kept["print-object"] = "no"
    if kept:
        marks.append(_mark("note", etree.Element("note", kept), segment))
    grace = children.get("grace")
    if grace is not None and (set(grace.keys()) - {"slash"} or grace.get("slash") == "no"):
        marks.append(_mark("grace", grace, segment))
    for tag in ("rest", "unpitched"):
        element = children.get(tag)
        if element is not None and (len(element) or element.keys()):
            marks.append(_mark(tag, element, segment))
    return marks


def _notations(notations: etree._Element, segment: int) -> Iterator[Notation]:
    for child in notations:
        tag = str(child.tag)
        if tag in CONTAINERS:
            for mark in child:
                yield _mark(tag, mark, segment)
        elif tag == "tied" and child.get("type") in {"start", "stop"}:
            if set(child.keys()) - {"type", "number"}:
                yield _mark(LOOK, child, segment)
        else:
            yield _mark(tag, child, segment)


def _mark(family: str, element: etree._Element, segment: int) -> Notation:
    text = element.findtext("text") if element.tag == "lyric" else element.text
    edge = element.get("type", "")
    if edge not in {"start", "stop", "continue"}:
        edge = ""
    return Notation(family, str(element.tag), _as_text(element), edge, (text or "").strip(), segment)


def _as_text(element: etree._Element) -> str:
    text: str = etree.tostring(element, encoding="unicode", with_tail=False)
    return text


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
        modification=_as_text(children["time-modification"]) if "time-modification" in children else "",
        beams=tuple(map(_as_text, head.element.iterchildren("beam"))) if "beam" in children else (),
    )
