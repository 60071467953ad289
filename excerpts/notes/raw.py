"""Walks the bars of a part and finds when each element happens, before notes become events.

W3C MusicXML 4.0: `<backup>` and `<forward>` move the cursor; a note with `<chord>` starts with the note
before it and does not move it; grace notes take no time.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.excerpt import BarRef, Excerpt

LENGTHS: Final = ("offset", "duration")
"""Elements inside directions, harmonies and figured basses that hold a length in divisions."""


@dataclass(slots=True)
class RawNote:
    """A note, chord or rest as it stands in the file: one `<note>` for each head.

    Attributes:
        bar: Index of its bar.
        onset: Quarter notes from the start of the bar.
        duration: Length of its first head in quarter notes.
        order: Place in the document, to compare with other things in it.
        elements: Its `<note>` elements.
        lengths: Length of each head in quarter notes.
    """

    bar: int
    onset: Fraction
    duration: Fraction
    order: int
    elements: list[etree._Element]
    lengths: list[Fraction] = field(default_factory=list)

    @property
    def staff(self) -> int:
        """Number of its staff, from 1."""
        return staff_of(self.elements[0])

    @property
    def voice(self) -> str:
        """Its voice as in the file; "1" where the file names none."""
        return (self.elements[0].findtext("voice") or "1").strip()

    @property
    def is_grace(self) -> bool:
        """Whether it takes no time of its own."""
        return self.elements[0].find("grace") is not None

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds."""
        return self.elements[0].find("rest") is not None


@dataclass(frozen=True, slots=True)
class RawPlaced:
    """Something that is not a note, with the time at which it stands (see `Placed`)."""

    bar: int
    onset: Fraction
    order: int
    element: etree._Element


@dataclass(slots=True)
class RawPart:
    """All that stands in the bars of a part."""

    notes: list[RawNote] = field(default_factory=list)
    placed: list[RawPlaced] = field(default_factory=list)


def staff_of(element: etree._Element) -> int:
    """Number of the staff that a note or direction belongs to, from 1."""
    return int((element.findtext("staff") or "1").strip())


def walk(excerpt: Excerpt, root: etree._Element) -> RawPart:
    """Find the time of everything in the bars of the excerpt's only part."""
    walker = _Walker()
    part = root.find("part")
    measures = [] if part is None else part.findall("measure")
    for index, (bar, measure) in enumerate(zip(excerpt.bars, measures, strict=True)):
        with numbers_of(excerpt, index):
            walker.bar(index, bar, measure)
    return walker.part


@contextmanager
def numbers_of(excerpt: Excerpt, bar: int) -> Iterator[None]:
    """Say in which bar a number cannot be read as one.

    Raises:
        ScoreError: Something in the bar is not the number that the format wants there.
    """
    try:
        yield
    except (ValueError, ZeroDivisionError) as error:
        label = excerpt.bars[bar].label
        place = ", ".join(part for part in (excerpt.origin.score, f"bar {label}") if part)
        raise ScoreError(
            f"a number in the music cannot be read ({error}).", where=place, hint="Export the score again."
        ) from error


def strip_blanks(root: etree._Element) -> None:
    """Take away the white space that only indents the file."""
    for element in root.iter():
        if len(element) and element.text is not None and not element.text.strip():
            element.text = None
        if element.tail is not None and not element.tail.strip():
            element.tail = None


class _Walker:
    def __init__(self) -> None:
        self.part = RawPart()
        self._divisions = Fraction(1)
        self._cursor = Fraction(0)
        self._bar = 0
        self._order = 0

    def bar(self, index: int, bar: BarRef, measure: etree._Element) -> None:
        self._bar, self._cursor = index, Fraction(0)
        for element in measure:
            self._order += 1
            match element.tag:
                case "note":
                    self._note(element)
                case "backup":
                    self._cursor = max(Fraction(0), self._cursor - self._length(element))
                case "forward":
                    self._cursor += self._length(element)
                case "attributes":
                    self._divisions = _number(element.findtext("divisions"), self._divisions)
                    self._place(element, self._cursor)
                case "barline":
                    self._place(element, _barline_onset(element, self._cursor, bar.length))
                case _:
                    self._place(element, self._cursor)

    def _length(self, element: etree._Element) -> Fraction:
        return max(Fraction(0), _number(element.findtext("duration"), Fraction(0))) / self._divisions

    def _note(self, element: etree._Element) -> None:
        length = Fraction(0) if element.find("grace") is not None else self._length(element)
        notes = self.part.notes
        if (
            element.find("chord") is not None
            and notes
            and notes[-1].bar == self._bar
            and not notes[-1].is_rest
        ):
            notes[-1].elements.append(element)
            notes[-1].lengths.append(length)
            return
        if element.find("chord") is not None and notes and notes[-1].bar == self._bar:
            # A chord note on a rest makes no sense; it sounds where the rest begins.
            notes.append(RawNote(self._bar, notes[-1].onset, length, self._order, [element], [length]))
            return
        notes.append(RawNote(self._bar, self._cursor, length, self._order, [element], [length]))
        self._cursor += length

    def _place(self, element: etree._Element, onset: Fraction) -> None:
        for length in element.iter(*LENGTHS):
            length.text = str(_number(length.text, Fraction(0)) / self._divisions)
        self.part.placed.append(RawPlaced(self._bar, onset, self._order, element))


def _number(text: str | None, default: Fraction) -> Fraction:
    return Fraction(text.strip()) if text and text.strip() else default


def _barline_onset(element: etree._Element, cursor: Fraction, length: Fraction) -> Fraction:
    location = element.get("location", "right")
    return {"left": Fraction(0), "right": max(length, cursor)}.get(location, cursor)
