"""A fingering put into the music, or told as marks for a week file: all of it, or what a player needs.

A player needs the finger where the hand begins or moves, where the note would be looked for on another string, and
where a finger is stretched; and the string beside it where the hand is not in first position. Common practice, no
source. What stands in the score already is not said again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import NUMERALS, THUMB
from excerpts.lefthand.fingering import FingeredNote, Fingering
from excerpts.lefthand.hand_places import Place, Stop, stops_of
from excerpts.musicxml.format import serialise
from excerpts.musicxml.pitch import Pitch, name_of_pitch
from excerpts.score.bars import BarRange, Bars
from excerpts.score.slice import technical_of

LIGHT: Final = "#666666"
"""Colour of what is proposed: a contrast of 5.7:1 on white."""


@dataclass(frozen=True, slots=True)
class Sign:
    """What is written at one note of a chord.

    Attributes:
        one: The note or chord.
        pitch: The note of it.
        finger: The finger, "" where none is written.
        string: The string's number, "" likewise.
    """

    one: FingeredNote
    pitch: Pitch
    finger: str
    string: str


def within(one: FingeredNote, span: BarRange) -> bool:
    """Whether a note begins in a span of bars."""
    at = (one.note.measure, one.note.within)
    return (span.first, span.start) <= at < (span.last, span.end)


def signs(fingering: Fingering, span: BarRange, every: bool = False) -> list[Sign]:
    """What is to be written at the notes of a span, in order.

    Args:
        fingering: The fingering.
        span: The bars.
        every: At every note; else what a player needs.
    """
    written: list[Sign] = []
    before: Place | None = None
    for one in fingering.notes:
        if one.place is None or not within(one, span):
            continue
        written += _signs(fingering, one, one.place, before, every)
        if one.place.hand.finger:
            before = one.place
    return written


def _signs(
    fingering: Fingering, one: FingeredNote, place: Place, before: Place | None, every: bool
) -> Iterator[Sign]:
    count = len(fingering.read.player.strings)
    first = before is None
    moved = bool(before and place.hand.finger and before.hand.position != place.hand.position)
    for pitch, stop, given in zip(one.note.pitches, place.stops, one.note.given, strict=True):
        elsewhere = stop.string != _usual(fingering, pitch, place)
        finger = every or first or moved or elsewhere or stop.respelt or stop.extended
        unclear = (first or moved) and place.hand.position > 1
        string = every or unclear or (elsewhere and stop.finger not in {0, 4})
        yield Sign(
            one,
            pitch,
            _finger_text(stop) if finger and given.finger is None else "",
            str(count - stop.string) if string and given.string is None else "",
        )


def _usual(fingering: Fingering, pitch: Pitch, place: Place) -> int:
    """The string that a player looks for a note on with the hand in this position: the highest that has it."""
    position = place.hand.position
    return max(
        (stop.string for stop in stops_of(pitch, fingering.read.player) if stop.position == position),
        default=-1,
    )


def _finger_text(stop: Stop) -> str:
    return "T" if stop.finger == THUMB else str(stop.finger)


def with_fingers(excerpt: Excerpt, written: Sequence[Sign], proposed: str) -> Excerpt:
    """Write signs into music, lighter than what stands there.

    Args:
        excerpt: Music cut from the part.
        written: The signs.
        proposed: The words that say over the first of them where they come from.
    """
    root = excerpt.tree()
    part = root.find("part")
    assert part is not None  # every excerpt has one
    places = {bar.place - 1: index for index, bar in enumerate(excerpt.bars)}
    heads = _heads(part)
    said = False
    for sign in written:
        note = sign.one.note
        key = (places.get(note.measure, -1), note.within, str(sign.pitch), note.grace)
        for element in heads.get(key, [])[:1]:
            heads[key] = heads[key][1:]
            technical = technical_of(element)
            for tag, text in (("fingering", sign.finger), ("string", sign.string)):
                if text:
                    technical.append(_written(tag, text))
            if not said and (sign.finger or sign.string):
                said = True
                _say(element, proposed)
    return replace(excerpt, xml=serialise(root))


_Key = tuple[int, Fraction, str, bool]


def _heads(part: etree._Element) -> dict[_Key, list[etree._Element]]:
    """The notes by bar, onset, pitch, and whether they are grace notes."""
    bars = Bars(part)
    heads: dict[_Key, list[etree._Element]] = {}
    for index in range(len(bars)):
        for moment in bars.time(index).moments:
            note = moment.element
            if note.tag == "note" and (name := name_of_pitch(note)):
                key = (index, moment.onset, name, note.find("grace") is not None)
                heads.setdefault(key, []).append(note)
    return heads


def _written(tag: str, text: str) -> etree._Element:
    element = etree.Element("thumb-position" if text == "T" else tag, color=LIGHT)
    element.text = None if text == "T" else text
    return element


def _say(note: etree._Element, text: str) -> None:
    while note.find("chord") is not None and (before := note.getprevious()) is not None:
        note = before
    direction = etree.Element("direction", placement="above")
    look = {"font-style": "italic", "color": LIGHT}
    etree.SubElement(etree.SubElement(direction, "direction-type"), "words", look).text = text
    for name in ("voice", "staff"):
        if value := note.findtext(name):
            etree.SubElement(direction, name).text = value.strip()
    note.addprevious(direction)


def as_marks(fingering: Fingering, written: Collection[Sign]) -> list[str]:
    """The signs as a teacher writes marks in a week file: to accept them, copy those that are wanted."""
    marks: list[str] = []
    by_note: dict[int, list[Sign]] = {}
    for sign in written:
        by_note.setdefault(id(sign.one), []).append(sign)
    for group in by_note.values():
        note = group[0].one.note
        beat = fingering.read.beat(note)
        if note.grace or not beat:
            continue  # marks are for notes that begin on a beat or a part of one
        where = f"{fingering.read.label(note.measure)}:{beat}"
        if all(sign.finger for sign in group):
            marks.append(f"{where} finger {' '.join(sign.finger for sign in group)}")
        if len(group) == 1 and group[0].string:
            marks.append(f"{where} string {NUMERALS[int(group[0].string) - 1]}")
    return marks
