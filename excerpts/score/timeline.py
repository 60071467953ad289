"""When things happen in a bar: the cursor of MusicXML walked in exact time.

A `<measure>` is read in document order: notes move a cursor on, `<backup>` and `<forward>` move it, chord
notes share the onset of the note before (W3C MusicXML 4.0, "The MIDI-compatible part of MusicXML").
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

FIRST_DIVISIONS: Final = Fraction(1)
"""What `divisions` means until a file says otherwise (common practice among readers, no source)."""

_DECIMAL: Final = re.compile(r"[+-]?(?:[0-9]{1,18}(?:\.[0-9]{0,18})?|\.[0-9]{1,18})")
"""A number as `xs:decimal` writes it; longer ones mean nothing in music."""

_LONGEST: Final = 40
"""Characters after which no text is such a number, however it begins."""


@dataclass(frozen=True, slots=True)
class Moment:
    """An element of a bar with its time.

    Attributes:
        element: The child of `<measure>`.
        onset: Quarter notes from the start of the bar (with the `<offset>` of a direction counted in).
        duration: Length in quarter notes; 0 for grace notes and for all that is not a note.
        cursor: Where the cursor stood when the element was met, in quarter notes.
    """

    element: etree._Element
    onset: Fraction
    duration: Fraction
    cursor: Fraction

    @property
    def end(self) -> Fraction:
        """Quarter notes from the start of the bar to where the element stops sounding."""
        return self.onset + self.duration


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


def number_in(text: str | None) -> Fraction | None:
    """The decimal number in `text`, exact; None when it holds none."""
    return _number(text.strip()[:_LONGEST]) if text else None


@lru_cache(maxsize=1024)
def _number(text: str) -> Fraction | None:
    found = _DECIMAL.fullmatch(text)
    return None if found is None else Fraction(found.group())


def plain(value: Fraction) -> str:
    """A number of divisions as MusicXML writes it: whole where it can be, else a decimal."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.10g}"


def divisions_in(attributes: etree._Element) -> Fraction | None:
    """The divisions of a quarter note that an `<attributes>` sets, or None."""
    value = number_in(attributes.findtext("divisions"))
    return value if value is not None and value > 0 else None


class _Cursor:
    """Walks one measure; a class only because its steps share five values."""

    def __init__(self, divisions: Fraction) -> None:
        self.divisions = divisions
        self.lengths: dict[str | None, Fraction] = {}
        self.at = Fraction(0)
        self.furthest = Fraction(0)
        self.last_onset = Fraction(0)
        self.moments: list[Moment] = []
        self.faults: list[str] = []

    def take(self, child: etree._Element) -> None:
        match child.tag:
            case "note":
                self._note(child)
            case "backup" | "forward":
                length = self._length(child)
                self.moments.append(Moment(child, self.at, Fraction(0), self.at))
                self._move(-length if child.tag == "backup" else length)
            case _:
                self._other(child)

    def _length(self, child: etree._Element) -> Fraction:
        text = child.findtext("duration")
        known = self.lengths.get(text)
        if known is not None:
            return known
        ticks = number_in(text)
        if ticks is not None and ticks > 0:
            return self.lengths.setdefault(text, ticks / self.divisions)
        told = (text or "").strip()[:20]
        if child.tag == "note" or ticks != 0:
            self.faults.append(
                f"a <{child.tag!s}> " + (f"of duration {told}" if told else "without a duration")
            )
        return Fraction(0)

    def _move(self, by: Fraction) -> None:
        self.at += by
        if self.at.numerator < 0:
            self.faults.append("a <backup> past the start of the bar")
            self.at = Fraction(0)
        self.furthest = max(self.furthest, self.at)

    def _note(self, note: etree._Element) -> None:
        grace = note.find("grace") is not None
        length = Fraction(0) if grace else self._length(note)
        if note.find("chord") is not None:
            self.moments.append(Moment(note, self.last_onset, length, self.at))
            self.furthest = max(self.furthest, self.last_onset + length)
            return
        self.last_onset = self.at
        self.moments.append(Moment(note, self.at, length, self.at))
        self._move(length)

    def _other(self, child: etree._Element) -> None:
        onset = self.at
        if child.tag == "attributes":
            self.divisions = divisions_in(child) or self.divisions
            self.lengths.clear()
        elif child.tag in ("direction", "harmony", "sound"):
            onset += (number_in(child.findtext("offset")) or Fraction(0)) / self.divisions
        self.moments.append(Moment(child, onset, Fraction(0), self.at))


def walk(measure: etree._Element, divisions: Fraction) -> BarTime:
    """Time every child of a measure.

    Args:
        measure: A `<measure>` of a part.
        divisions: Divisions of a quarter note in force at its start.

    Returns:
        Its moments, real length in quarter notes and the divisions in force at its end. Broken durations
        count as nothing and are named in `faults`.
    """
    cursor = _Cursor(divisions)
    for child in measure:
        cursor.take(child)
    return BarTime(tuple(cursor.moments), cursor.furthest, cursor.divisions, tuple(cursor.faults), cursor.at)


def order_in_time(
    measure: etree._Element, divisions: Callable[[], Fraction]
) -> dict[etree._Element, Fraction | int]:
    """The onsets of a measure's children, in whatever unit: enough to put them in order of time.

    Whole numbers of divisions are counted as they stand, which is several times faster than `walk`.

    Args:
        measure: The bar.
        divisions: Gives the divisions in force at its start; asked only where they change inside.
    """
    ticks = [child.text or "" for child in measure.iter("duration", "offset")]
    if not all(text.isdecimal() for text in ticks) or measure.find("attributes/divisions") is not None:
        return {moment.element: moment.onset for moment in walk(measure, divisions()).moments}
    order: dict[etree._Element, Fraction | int] = {}
    at = chord_at = 0
    for child in measure:
        tag = child.tag
        if tag == "note" and child.find("chord") is not None:
            order[child] = chord_at
            continue
        length = int(child.findtext("duration") or 0)
        order[child] = at
        if tag == "note":
            chord_at = at
            at += 0 if child.find("grace") is not None else length
        elif tag == "forward":
            at += length
        elif tag == "backup":
            at = max(0, at - length)
        elif tag in ("direction", "harmony", "sound"):
            order[child] = at + int(child.findtext("offset") or 0)
    return order
