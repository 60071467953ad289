"""The tones that sound in a line, and the MIDI program of its instrument.

As printed: trills and arpeggios plain, grace notes short at the front of their note, pitches as they sound.
Program numbers: General MIDI level 1, counted from 0.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.notes import Event, Head, Line

PROGRAMS: Final[tuple[tuple[str, int], ...]] = (
    (r"cell|cello", 42),
    (r"contrab|kontrab|double ?bass|string ?bass|contreb|\bbass\b|\bbasso\b", 43),
    (r"\bviola|bratsche|\balto\b|\bvla", 41),
    (r"violin|violon|geige|fiddle|\bvln", 40),
)
"""What the name of an instrument contains, and its General MIDI program, in the order to try."""

DEFAULT_PROGRAM: Final = 40

GRACE: Final = Fraction(1, 8)
"""Length of a grace note in quarter notes, where its note is long enough."""


@dataclass(frozen=True, slots=True)
class Tone:
    """A sounding tone: times in quarter notes from the start of the excerpt, and the MIDI number."""

    start: Fraction
    end: Fraction
    number: int


def program(excerpt: Excerpt) -> int:
    """General MIDI program of the part, from 0: by the instrument's name, else as the file says, else violin."""
    score_part = excerpt.tree().find("part-list/score-part")
    if score_part is None:
        return DEFAULT_PROGRAM
    paths = ("score-instrument/instrument-name", "score-instrument/instrument-sound", "part-name")
    for path in paths:
        name = (score_part.findtext(path) or "").lower()
        for pattern, number in PROGRAMS:
            if re.search(pattern, name):
                return number
    told = (score_part.findtext("midi-instrument/midi-program") or "").strip()
    known = told.isdecimal() and len(told) < 4 and 1 <= int(told) <= 128
    return int(told) - 1 if known else DEFAULT_PROGRAM


def tones(line: Line) -> list[Tone]:
    """The sounding tones of a line, ties joined, grace notes taking a little from their note."""
    transpositions = _transpositions(line)
    result: list[Tone] = []
    open_ties: dict[int, int] = {}
    for start, end, event in _sounding(line):
        shift = next((by for time, by in reversed(transpositions) if time <= event.onset), Fraction(0))
        still_open: dict[int, int] = {}
        for head in event.heads:
            if head.pitch is None:
                continue
            number = round(head.pitch.midi + shift)
            stop = end if head.duration is None else start + head.duration
            place = open_ties.get(number) if _tied(head, "stop") else None
            if place is not None and result[place].end == start:
                result[place] = Tone(result[place].start, stop, number)
            else:
                place = len(result)
                result.append(Tone(start, stop, number))
            if _tied(head, "start"):
                still_open[number] = place
        open_ties = still_open
    return result


def _tied(head: Head, edge: str) -> bool:
    return any(mark.family == "tied" and mark.edge == edge for mark in head.marks)


def _sounding(line: Line) -> list[tuple[Fraction, Fraction, Event]]:
    """The events that sound, with their start and end once grace notes have their share."""
    events = [event for event in line.events if not (event.is_rest or event.hidden or event.cue)]
    result: list[tuple[Fraction, Fraction, Event]] = []
    index = 0
    while index < len(events):
        graces = []
        while index < len(events) and events[index].grace:
            graces.append(events[index])
            index += 1
        main = events[index] if index < len(events) and events[index].onset == _onset_of(graces) else None
        if graces and (main is None or graces[0].closing):
            _close(result, graces)
        elif main is not None and graces:
            length = min(GRACE, main.duration / (2 * len(graces)))
            result += _in_a_row(graces, main.onset, length)
            result.append((main.onset + length * len(graces), main.end, main))
            index += 1
        if not graces:
            result.append((events[index].onset, events[index].end, events[index]))
            index += 1
    return result


def _onset_of(graces: list[Event]) -> Fraction | None:
    return graces[0].onset if graces else None


def _in_a_row(
    graces: list[Event], onset: Fraction, length: Fraction
) -> list[tuple[Fraction, Fraction, Event]]:
    return [(onset + length * i, onset + length * (i + 1), grace) for i, grace in enumerate(graces)]


def _close(result: list[tuple[Fraction, Fraction, Event]], graces: list[Event]) -> None:
    """Grace notes at the end of a bar take their time from the end of the note before them."""
    if not result:
        return
    start, end, event = result[-1]
    length = min(GRACE, (end - start) / (2 * len(graces)))
    begin = end - length * len(graces)
    result[-1] = (start, begin, event)
    result += _in_a_row(graces, begin, length)


def _transpositions(line: Line) -> list[tuple[Fraction, Fraction]]:
    """Semitones from written to sounding pitch, with the time from which they hold.

    W3C MusicXML 4.0: `<chromatic>` does not hold the octaves of `<octave-change>`.
    """
    found: list[tuple[Fraction, Fraction]] = []
    for placed in line.placed:
        if placed.name == "attributes" and "<transpose" in placed.xml:
            for element in etree.fromstring(placed.xml).findall("transpose"):
                semitones = Fraction((element.findtext("chromatic") or "0").strip())
                octaves = Fraction((element.findtext("octave-change") or "0").strip())
                found.append((line.bars[placed.bar].start + placed.onset, semitones + 12 * octaves))
    return found
