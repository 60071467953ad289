"""The tempos of an excerpt, and what is in force where its box begins: its key, its metre, its tempo.

W3C MusicXML 4.0: `sound@tempo` counts quarter notes a minute, `<metronome>` beats of its own unit. The bar before the
box is there to be read only, and may stand in another key, metre or tempo.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt, Position, Tempo
from excerpts.musicxml.elements import Key, Opaque, Sign, Signatures
from excerpts.musicxml.format import NOTE_TYPES, dotted, number_in
from excerpts.musicxml.metre import metre_of
from excerpts.musicxml.timeline import FIRST_DIVISIONS, divisions_in, walk
from excerpts.notes.model import Voice
from excerpts.notes.raw import walk_part

NUMBER: Final = re.compile(r"\d+(?:\.\d+)?")
"""A number of beats a minute inside the text of a `<per-minute>` ("ca. 60", "60-66")."""


@dataclass(frozen=True, slots=True)
class TempoPlace:
    """A `<direction>` or `<sound>` that tells a tempo.

    Attributes:
        at: Where it stands.
        element: The element, in the tree that was asked about.
        printed: What its metronome mark says; where it has none, the sounding tempo in beats of the metre.
            None when it only relates two beats to each other.
        sounding: Quarter notes a minute that it sounds at; None when it tells no number.
    """

    at: Position
    element: etree._Element
    printed: Tempo | None
    sounding: Fraction | None


def tempo_places(excerpt: Excerpt, root: etree._Element) -> list[TempoPlace]:
    """Everything in a tree of the excerpt that tells a tempo, in order of time."""
    copy = excerpt.tree()
    # The walk writes lengths in quarter notes into the tree it walks, so it gets one of its own.
    own = dict(zip(copy.iter(), root.iter(), strict=True))
    places: list[TempoPlace] = []
    beat = Fraction(1)
    for raw in walk_part(excerpt, copy).placed:
        for time in raw.element.findall("time") if raw.element.tag == "attributes" else []:
            beat = metre_of(time).beat
        if raw.element.tag in {"direction", "sound"} and _tells_tempo(raw.element):
            onset = raw.onset + Fraction(raw.element.findtext("offset") or "0")
            places.append(_place(Position(raw.bar, onset), own[raw.element], beat))
    return sorted(places, key=lambda place: place.at)


def _tells_tempo(element: etree._Element) -> bool:
    return element.find(".//metronome") is not None or _sound(element) is not None


def _sound(element: etree._Element) -> Fraction | None:
    for sound in element.iter("sound"):
        number = NUMBER.fullmatch((sound.get("tempo") or "").strip())
        if number is not None and Fraction(number.group()) > 0:
            return Fraction(number.group())
    return None


def _place(at: Position, element: etree._Element, beat: Fraction) -> TempoPlace:
    sounding = _sound(element)
    for metronome in element.iter("metronome"):
        unit = NOTE_TYPES.get((metronome.findtext("beat-unit") or "").strip())
        number = NUMBER.search(metronome.findtext("per-minute") or "")
        if unit is not None and number is not None and Fraction(number.group()) > 0:
            dots = len(metronome.findall("beat-unit-dot"))
            printed = Tempo(Fraction(number.group()), dotted(unit, dots))
            return TempoPlace(at, element, printed, sounding or printed.quarters_per_minute)
    return TempoPlace(at, element, None if sounding is None else Tempo(sounding / beat, beat), sounding)


@dataclass(frozen=True, slots=True)
class Signs:
    """The signs in force at a point of an excerpt; None where there is none.

    Attributes:
        key: The `<key>`.
        time: The `<time>`.
    """

    key: etree._Element | None = None
    time: etree._Element | None = None


def box_start(excerpt: Excerpt) -> Position:
    """Where the first box begins; the start of music without one."""
    return excerpt.boxes[0].start if excerpt.boxes else Position(0, Fraction(0))


def signs_at_box(excerpt: Excerpt, root: etree._Element) -> Signs:
    """The key and the metre at the first note of the box, in the first part.

    Args:
        excerpt: The excerpt.
        root: Its tree.
    """
    key = time = None
    for attributes in _attributes(root, box_start(excerpt)):
        first_staff = (one for one in attributes.findall("key") if one.get("number", "1") == "1")
        key = next(first_staff, key)
        here = attributes.find("time")
        time = time if here is None else here
    return Signs(key, time)


def signatures_at(line: Voice, onset: Fraction) -> dict[str, Sign]:
    """The key, time, clef and transposition in force at a time of a line, by their names.

    Args:
        line: The line.
        onset: Quarter notes from its start.
    """
    return {
        sign.name: sign
        for placed in line.placed
        if isinstance(placed.sign, Signatures) and line.time_of(placed) <= onset
        for sign in placed.sign.content
        if sign.name in _SIGNATURES
    }


_SIGNATURES: Final = {"key", "time", "clef", "transpose"}


def key_at_box(excerpt: Excerpt) -> Key | None:
    """The key signature at the first note of the box; None where there is none, or none of sharps or flats."""
    element = signs_at_box(excerpt, excerpt.tree()).key
    return None if element is None else _plain_key(element)


def plain_key(sign: Sign | None) -> Key | None:
    """A key signature as sharps or flats; None where it is another kind."""
    if isinstance(sign, Opaque):
        return _plain_key(etree.fromstring(sign.xml))
    return sign if isinstance(sign, Key) else None


def _plain_key(element: etree._Element) -> Key | None:
    fifths = number_in(element.findtext("fifths"))
    return None if fifths is None else Key(int(fifths), (element.findtext("mode") or "").strip())


def _attributes(root: etree._Element, until: Position) -> Iterator[etree._Element]:
    """The `<attributes>` of the first part that stand at a point or before it."""
    divisions = FIRST_DIVISIONS
    for index, measure in enumerate(root.iterfind("part[1]/measure")):
        if index < until.bar:
            for attributes in measure.iterfind("attributes"):
                divisions = divisions_in(attributes) or divisions
                yield attributes
            continue
        for moment in walk(measure, divisions).moments:
            if moment.element.tag == "attributes" and moment.onset <= until.onset:
                yield moment.element
        return


def tempo_place_at_box(excerpt: Excerpt, places: list[TempoPlace]) -> TempoPlace | None:
    """The last of the places that tell a tempo in numbers which stands at the start of the box or before it."""
    start = box_start(excerpt)
    before = [place for place in places if place.at <= start and place.printed is not None]
    return before[-1] if before else None


def tempo_at_box(excerpt: Excerpt) -> Tempo | None:
    """The tempo in force at the first note of the box; None where the source tells none."""
    place = tempo_place_at_box(excerpt, tempo_places(excerpt, excerpt.tree()))
    return excerpt.tempo if place is None else place.printed
