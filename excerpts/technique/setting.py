"""Sets a drill into bars of its own: slow, in four, in the key and clef of the place it comes from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import BarRef, Excerpt, Tempo
from excerpts.notes import write_line
from excerpts.notes.model import Event, Head, Notation, TimedElement, Voice

Note = tuple[tuple[Head, ...], int, str]
"""Heads of a note or double stop, length in crotchets, and "(" where a slur begins, ")" where it ends."""

_BAR: Final = Fraction(4)
_SLOW: Final = Tempo(Fraction(60))
"""Common practice, no source: slow enough to hear each note before it comes."""

_KEPT: Final = {"technical"}
"""Families of marks that stay on the notes of a drill: fingers, strings, harmonics."""

_OF_THE_BOW: Final = {"down-bow", "up-bow"}


def set_drill(source: Voice, at: Event, bars: Sequence[Sequence[Note]]) -> Excerpt:
    """Write a drill.

    Args:
        source: The line it comes from.
        at: The note it is about: clef, key and transposition are those in force there.
        bars: The notes of each bar; every bar is four crotchets long.
    """
    references = tuple(
        BarRef(place, str(place), (place - 1) * _BAR, _BAR) for place in range(1, len(bars) + 1)
    )
    end = TimedElement(
        len(bars) - 1,
        _BAR,
        "barline",
        '<barline location="right"><bar-style>light-heavy</bar-style></barline>',
    )
    return write_line(
        Voice(
            events=tuple(_events(bars, at)),
            bars=references,
            placed=(TimedElement(0, Fraction(0), "attributes", _attributes(source, at)), end),
            part=source.part,
            head=source.head,
            tempo=_SLOW,
            origin=replace(source.origin, variant="drill"),
        )
    )


def _events(bars: Sequence[Sequence[Note]], at: Event) -> Iterator[Event]:
    for place, bar in enumerate(bars):
        onset = place * _BAR
        for heads, length, slur in bar:
            yield Event(onset, Fraction(length), tuple(_heads(heads, slur)), voice=at.voice, staff=1)
            onset += length


def _heads(heads: Sequence[Head], slur: str) -> Iterator[Head]:
    for place, head in enumerate(heads):
        marks = [mark for mark in head.marks if mark.family in _KEPT and mark.name not in _OF_THE_BOW]
        if slur and place == 0:
            edge = "start" if slur == "(" else "stop"
            marks.append(Notation("slur", "slur", f'<slur type="{edge}" number="1"/>', edge=edge))
        yield Head(head.pitch, tuple(marks))


def _attributes(source: Voice, at: Event) -> str:
    """Key, clef and transposition in force at a note, under a time signature of four crotchets."""
    found: dict[str, etree._Element] = {}
    for placed in source.placed:
        time = source.bars[placed.bar].start + placed.onset
        if placed.name == "attributes" and time <= at.onset:
            for child in etree.fromstring(placed.xml):
                own = int(child.get("number", str(at.staff))) == at.staff
                if own and child.tag in {"key", "clef", "transpose"}:
                    found[str(child.tag)] = child
    for element in found.values():
        element.attrib.pop("number", None)
    given = {
        tag: etree.tostring(element, encoding="unicode", with_tail=False) for tag, element in found.items()
    }
    metre = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    return (
        f"<attributes>{given.get('key', '')}{metre}{given.get('clef', '')}"
        f"{given.get('transpose', '')}</attributes>"
    )
