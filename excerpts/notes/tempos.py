"""Where an excerpt's MusicXML tells a tempo, and which.

W3C MusicXML 4.0: `sound@tempo` counts quarter notes a minute, `<metronome>` beats of its own unit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt, Position, Tempo
from excerpts.musicxml.format import NOTE_TYPES, dotted
from excerpts.musicxml.metre import metre_of
from excerpts.notes.raw import walk

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
    found: list[TempoPlace] = []
    beat = Fraction(1)
    for raw in walk(excerpt, copy).placed:
        for time in raw.element.findall("time") if raw.element.tag == "attributes" else []:
            beat = metre_of(time).beat
        if raw.element.tag in {"direction", "sound"} and _tells_tempo(raw.element):
            onset = raw.onset + Fraction(raw.element.findtext("offset") or "0")
            found.append(_place(Position(raw.bar, onset), own[raw.element], beat))
    return sorted(found, key=lambda place: place.at)


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
