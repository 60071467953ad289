"""Notes in one colour that follow each other."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.timeline import Moment, walk
from excerpts.score.address import BarRange
from excerpts.score.bars import Bars
from excerpts.score.marked_found import Found, Made, Read, Unread
from excerpts.score.slice import staff_of, voice_of

_BLACK: Final = re.compile(r"#(?:FF)?000000", re.IGNORECASE)
_MOST_COLOURED: Final = Fraction(1, 2)
_ALL: Final = "most notes of the part are coloured, so colour marks nothing in it"


@dataclass(slots=True)
class _Run:
    """A run of notes of one colour, from the first to the last so far."""

    colour: str
    first: int
    start: Fraction
    last: int = 0
    end: Fraction = Fraction(0)
    notes: list[Made] = field(default_factory=list)

    def found(self) -> Found:
        span = BarRange(self.first, self.start, self.last, self.end)
        return Found("colour", self.colour, span, tuple(self.notes))


def coloured_runs(bars: Bars) -> Read:
    """The runs of notes in one colour, in order of their ends; none where most of the part is coloured."""
    notes = [
        note for measure in bars.measures for note in measure.iterfind("note") if note.find("rest") is None
    ]
    coloured = [note for note in notes if _colour(note)]
    if not coloured:
        return [], []
    if Fraction(len(coloured), len(notes)) > _MOST_COLOURED:
        return [], [Unread(None, _ALL)]
    found: list[Found] = []
    runs: dict[tuple[str, str], _Run] = {}
    for index, measure in enumerate(bars.measures):
        if not any(_colour(note) for note in measure.iterfind("note")) and not runs:
            continue
        for moment in _in_time(bars, index):
            _take(moment, index, runs, found)
    return [*found, *(run.found() for run in runs.values())], []


def _take(moment: Moment, index: int, runs: dict[tuple[str, str], _Run], found: list[Found]) -> None:
    chord = _chord(moment.element)
    colour = next((colour for note in chord if (colour := _colour(note))), "")
    key = (voice_of(moment.element), staff_of(moment.element))
    run = runs.get(key)
    if run is not None and run.colour != colour:
        found.append(runs.pop(key).found())
    if colour:
        run = runs.setdefault(key, _Run(colour, index, moment.onset))
        run.last, run.end = index, moment.end
        run.notes += [Made(note, index, "colour") for note in chord if _colour(note) == colour]


def _chord(note: etree._Element) -> list[etree._Element]:
    heads = [note]
    for following in note.itersiblings("note"):
        if following.find("chord") is None:
            break
        heads.append(following)
    return heads


def _in_time(bars: Bars, index: int) -> list[Moment]:
    """The sounding notes of a bar in order of time; of a chord its first note only."""
    moments = [
        moment
        for moment in walk(bars.measures[index], bars.state(index).divisions).moments
        if moment.element.tag == "note"
        and moment.element.find("rest") is None
        and moment.element.find("chord") is None
        and moment.duration
    ]
    return sorted(moments, key=lambda moment: moment.onset)


def _colour(note: etree._Element) -> str:
    """The colour of a note; "" for black."""
    head = note.find("notehead")
    colour = note.get("color") or (head.get("color") if head is not None else None) or ""
    return "" if _BLACK.fullmatch(colour) else colour.upper()
