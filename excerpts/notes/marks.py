"""Takes the marks off a `<note>` element, each kept as the source writes it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.notes.model import Mark, Pitch, Printed

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


def marks_of(note: etree._Element, hidden: bool) -> list[Mark]:
    """The marks of a note, in the order of the file.

    Args:
        note: The `<note>` element.
        hidden: Whether the whole event is hidden; if not, a hidden head of a chord says so itself.
    """
    marks = list(_replacing(note, hidden))
    for child in note:
        if child.tag in _OWN:
            marks.append(_mark(str(child.tag), child))
        elif child.tag == "stem" and (child.text or "").strip() in {"none", "double"}:
            marks.append(_mark("stem", child))
        elif child.tag == "notations":
            marks.extend(_notations(child))
    return marks


def _replacing(note: etree._Element, hidden: bool) -> Iterator[Mark]:
    """Marks that stand for an element the writer makes itself, where the source's says more."""
    kept = {str(key): str(value) for key, value in note.attrib.items() if key not in _PLACES}
    if note.get("print-object") == "no" and not hidden:
        kept["print-object"] = "no"
    if kept:
        yield _mark("note", etree.Element("note", kept))
    grace = note.find("grace")
    if (
        grace is not None
        and set(grace.attrib) - {"slash"}
        or (grace is not None and grace.get("slash") == "no")
    ):
        yield _mark("grace", grace)
    for tag in ("rest", "unpitched"):
        element = note.find(tag)
        if element is not None and (len(element) or element.attrib):
            yield _mark(tag, element)


def _notations(notations: etree._Element) -> Iterator[Mark]:
    for child in notations:
        if child.tag in CONTAINERS:
            yield from (_mark(str(child.tag), mark) for mark in child)
        elif child.tag == "tied" and child.get("type") in {"start", "stop"}:
            if set(child.attrib) - {"type", "number"}:
                yield _mark(LOOK, child)
        else:
            yield _mark(str(child.tag), child)


def _mark(family: str, element: etree._Element) -> Mark:
    text = element.findtext("text") if element.tag == "lyric" else element.text
    edge = element.get("type", "") if element.get("type") in {"start", "stop", "continue"} else ""
    xml = etree.tostring(element, encoding="unicode", with_tail=False)
    return Mark(family, str(element.tag), xml, edge, (text or "").strip())


def tie_edges(note: etree._Element) -> set[str]:
    """Whether ties start or stop at a note: by what sounds (`<tie>`) or what is drawn (`<tied>`)."""
    drawn = [tied for notations in note.findall("notations") for tied in notations.findall("tied")]
    edges = {str(tie.get("type")) for tie in [*note.findall("tie"), *drawn]}
    return edges & {"start", "stop"}


def pitch_of(note: etree._Element) -> Pitch | None:
    """The written pitch of a note; None when it is unpitched."""
    pitch = note.find("pitch")
    if pitch is None:
        return None
    alter = Fraction((pitch.findtext("alter") or "0").strip())
    return Pitch((pitch.findtext("step") or "").strip(), int((pitch.findtext("octave") or "").strip()), alter)


def printed_of(note: etree._Element) -> Printed | None:
    """How a note is printed; None when the source leaves that to the reader."""
    kind = (note.findtext("type") or "").strip()
    rest = note.find("rest")
    if not kind and not (rest is not None and rest.get("measure") == "yes"):
        return None
    modification = note.find("time-modification")
    return Printed(
        type=kind,
        dots=len(note.findall("dot")),
        modification=""
        if modification is None
        else etree.tostring(modification, encoding="unicode", with_tail=False),
        beams=tuple(
            etree.tostring(beam, encoding="unicode", with_tail=False) for beam in note.findall("beam")
        ),
    )
