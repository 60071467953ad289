"""Time inside a bar: the cursor of MusicXML walked in exact time, and a bar written anew from times.

A `<measure>` is read in document order: notes move a cursor on, `<backup>` and `<forward>` move it, chord
notes share the onset of the note before (W3C MusicXML 4.0, "The MIDI-compatible part of MusicXML"). Whoever asks
when something is in a bar asks here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Final, NamedTuple

from lxml import etree

from excerpts.musicxml.format import number_in

FIRST_DIVISIONS: Final = Fraction(1)
"""What `divisions` means until a file says otherwise (common practice among readers, no source)."""

_START: Final = Fraction(0)
_MOST_KNOWN: Final = 5000
"""Times that are kept in mind; a piece has some hundred."""

Children = Mapping[str, etree._Element]
"""The first child of each name: looked through once, as each `find` goes through the children again."""

_NONE: Final[Children] = MappingProxyType({})

MOVES: Final = ("backup", "forward")
"""Elements that only move the cursor."""

COUNTED: Final = ("note", *MOVES)
"""Elements that take time or move the cursor."""


class Moment(NamedTuple):
    """An element of a bar with its time.

    Attributes:
        element: The child of `<measure>`.
        onset: Quarter notes from the start of the bar (with the `<offset>` of a direction counted in).
        duration: Length in quarter notes; 0 for grace notes and for all that is not a note.
        cursor: Where the cursor stood when the element was met, in quarter notes.
        divisions: Divisions of a quarter note in force there; at an `<attributes>` those that it sets.
        children: The children of a note; none of anything else.
    """

    element: etree._Element
    onset: Fraction
    duration: Fraction
    cursor: Fraction
    divisions: Fraction = FIRST_DIVISIONS
    children: Children = _NONE

    @property
    def end(self) -> Fraction:
        """Quarter notes from the start of the bar to where the element stops sounding."""
        return self.onset + self.duration

    @property
    def moves(self) -> Fraction:
        """How far a note moves the cursor on, in quarter notes: not at all in a chord."""
        return _START if "chord" in self.children else self.duration

    @property
    def voice(self) -> str:
        """Voice of a note, "" where it has none."""
        voice = self.children.get("voice")
        return "" if voice is None else (voice.text or "").strip()

    @property
    def staff(self) -> str:
        """Staff of a note, "1" where it has none."""
        staff = self.children.get("staff")
        return "1" if staff is None else (staff.text or "1").strip()


@dataclass(frozen=True, slots=True)
class BarTime:
    """A whole bar in time.

    Attributes:
        moments: Its children in document order.
        length: Its real length in quarter notes.
        divisions: Divisions of a quarter note at its end.
        faults: What is wrong with its durations.
        cursor: Where the cursor stands behind its last child, in quarter notes.
    """

    moments: tuple[Moment, ...]
    length: Fraction
    divisions: Fraction
    faults: tuple[str, ...] = ()
    cursor: Fraction = Fraction(0)


def put_later(direction: etree._Element, divisions: Fraction) -> None:
    """Let a direction hold so many divisions later than its place."""
    offset = etree.Element("offset")
    offset.text = plain(divisions)
    direction.insert(len(direction.findall("direction-type")), offset)


def plain(value: Fraction) -> str:
    """A number of divisions as MusicXML writes it: whole where it can be, else a decimal."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.10g}"


def divisions_in(attributes: etree._Element) -> Fraction | None:
    """The divisions of a quarter note that an `<attributes>` sets, or None."""
    divisions = next(attributes.iterchildren("divisions"), None)
    return None if divisions is None else positive(divisions.text)


def positive(text: str | None) -> Fraction | None:
    """The number of divisions in `text`; None when it holds none that can be."""
    value = number_in(text)
    return value if value is not None and value.numerator > 0 else None


Ticks = int | Fraction
"""Divisions of a quarter note; a `<duration>` need not be a whole number of them."""


@lru_cache(maxsize=16)
def _known_times(
    divisions: Fraction,
) -> tuple[dict[str | None, tuple[Ticks, Fraction]], dict[Ticks, Fraction]]:
    """What bars counted in these divisions have needed so far: ticks and quarter notes of a text, times of ticks."""
    return {}, {}


class _Cursor:
    """Walks one measure; a class only because its steps share their values.

    It counts in divisions, mostly whole ones, and looks up the quarter notes that they are: bars of one piece
    have few lengths and onsets, and to add up fractions anew takes several times as long.
    """

    def __init__(self, divisions: Fraction) -> None:
        self.furthest = _START
        self.last_onset = _START
        self.moments: list[Moment] = []
        self.faults: list[str] = []
        self._count_from(_START, divisions)

    def _count_from(self, start: Fraction, divisions: Fraction) -> None:
        """Count on from a time in other divisions."""
        self.start, self.divisions = start, divisions
        self.ticks: Ticks = 0
        self.most: Ticks = 0
        self.last_ticks: Ticks | None = None
        self.lengths, self.times = ({}, {}) if start else _known_times(divisions)
        if len(self.lengths) + len(self.times) > _MOST_KNOWN:
            self.lengths.clear()
            self.times.clear()

    def _time(self, ticks: Ticks) -> Fraction:
        if not ticks:
            return self.start
        time = self.times.get(ticks)
        if time is None:
            time = self.times[ticks] = self.start + ticks / self.divisions
        return time

    def take(self, child: etree._Element) -> None:
        match child.tag:
            case "note":
                self._note(child)
            case "backup" | "forward":
                ticks, _ = self._length(child, child.findtext("duration"))
                at = self._time(self.ticks)
                self.moments.append(Moment(child, at, _START, at, self.divisions))
                self._move(-ticks if child.tag == "backup" else ticks)
            case _:
                self._other(child)

    def _length(self, child: etree._Element, text: str | None) -> tuple[Ticks, Fraction]:
        known = self.lengths.get(text)
        if known is not None:
            return known
        ticks = number_in(text)
        if ticks is not None and ticks > 0:
            whole = ticks.numerator if ticks.denominator == 1 else ticks
            return self.lengths.setdefault(text, (whole, ticks / self.divisions))
        shown = (text or "").strip()[:20]
        if child.tag == "note" or ticks != 0:
            self.faults.append(
                f"a <{child.tag!s}> " + (f"of duration {shown}" if shown else "without a duration")
            )
        return 0, _START

    def _move(self, by: Ticks) -> None:
        self.ticks += by
        if self.ticks < 0 and self._time(self.ticks) < 0:
            self.faults.append("a <backup> past the start of the bar")
            self._settle()
            self._count_from(_START, self.divisions)
        elif self.ticks > self.most:
            self.most = self.ticks

    def _settle(self) -> None:
        """Keep how far it came before it counts otherwise."""
        furthest = self._time(self.most)
        if furthest > self.furthest:
            self.furthest = furthest

    def _note(self, note: etree._Element) -> None:
        # In reverse, so that of several children of one name the first one counts.
        children = {str(child.tag): child for child in note.iterchildren(reversed=True)}
        ticks: Ticks = 0
        length = _START
        if "grace" not in children:
            duration = children.get("duration")
            ticks, length = self._length(note, None if duration is None else duration.text or "")
        at = self._time(self.ticks)
        if "chord" in children:
            self.moments.append(Moment(note, self.last_onset, length, at, self.divisions, children))
            if self.last_ticks is None:
                self.last_ticks = (self.last_onset - self.start) * self.divisions
            self.most = max(self.most, self.last_ticks + ticks)
            return
        self.last_onset, self.last_ticks = at, self.ticks
        self.moments.append(Moment(note, at, length, at, self.divisions, children))
        self._move(ticks)

    def _other(self, child: etree._Element) -> None:
        at = onset = self._time(self.ticks)
        if child.tag == "attributes":
            divisions = divisions_in(child)
            if divisions is not None and divisions != self.divisions:
                self._settle()
                self._count_from(at, divisions)
        elif child.tag in ("direction", "harmony", "sound"):
            offset = child.findtext("offset")
            if offset is not None:
                onset += (number_in(offset) or _START) / self.divisions
        self.moments.append(Moment(child, onset, _START, at, self.divisions))

    def result(self) -> BarTime:
        """The bar as far as it was walked."""
        self._settle()
        at = self._time(self.ticks)
        return BarTime(tuple(self.moments), self.furthest, self.divisions, tuple(self.faults), at)


def walk(measure: etree._Element, divisions: Fraction) -> BarTime:
    """Time every child of a measure, from the divisions of a quarter note in force at its start.

    Broken durations count as nothing and are named in `faults`.
    """
    cursor = _Cursor(divisions)
    for child in measure:
        cursor.take(child)
    return cursor.result()


def chords(time: BarTime) -> list[list[Moment]]:
    """The notes and rests of a bar in document order, all heads of a chord together."""
    groups: list[list[Moment]] = []
    for moment in time.moments:
        if "chord" in moment.children and groups:
            groups[-1].append(moment)
        elif moment.element.tag == "note":
            groups.append([moment])
    return groups


@dataclass(frozen=True, slots=True)
class PlacedElement:
    """An element and where in its bar it is to be written.

    Attributes:
        element: A child for the bar; chord notes come behind their main note.
        cursor: Where the cursor has to stand when it is met, in quarter notes from the start of the bar.
        moves: How far it moves the cursor on: the length of a note that is not in a chord, else 0.
    """

    element: etree._Element
    cursor: Fraction
    moves: Fraction = _START


def placed(moment: Moment) -> PlacedElement:
    """The element of a moment, to be written at the same time again."""
    return PlacedElement(moment.element, moment.cursor, moment.moves)


def write_measure(
    measure: etree._Element, elements: Iterable[PlacedElement], divisions: Fraction, end: Fraction
) -> None:
    """Write the inside of a bar anew, with the moves between its elements.

    Args:
        measure: The bar; what it holds is replaced.
        elements: Its elements in their new order.
        divisions: Divisions of a quarter note in force at its start.
        end: Where the cursor has to stand at its end.
    """
    elements = list(elements)
    measure[:] = []
    at = _START
    for item in elements:
        element = item.element
        if element.tag == "barline" and element.get("location") == "right":
            at = _move(measure, at, end, divisions)
        elif not (element.tag == "note" and element.find("chord") is not None):
            at = _move(measure, at, item.cursor, divisions)
        measure.append(element)
        at += item.moves
        if element.tag == "attributes":
            divisions = divisions_in(element) or divisions
    _move(measure, at, end, divisions)


def _move(measure: etree._Element, at: Fraction, to: Fraction, divisions: Fraction) -> Fraction:
    if at != to:
        move = etree.SubElement(measure, "forward" if to > at else "backup")
        etree.SubElement(move, "duration").text = plain(abs(to - at) * divisions)
    return to
