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


Children = dict[str, etree._Element]
"""The first child of each name: looked through once, as each `find` goes through the children again."""

_NO_TIE: Final[frozenset[str]] = frozenset()


@dataclass(slots=True)
class RawHead:
    """One `<note>` element: a note, a rest, or one head of a chord.

    Attributes:
        element: The `<note>`.
        children: Its children.
        length: Length in quarter notes.
        ties: Whether ties start or stop at it: by what sounds (`<tie>`) or what is drawn (`<tied>`).
    """

    element: etree._Element
    children: Children
    length: Fraction
    ties: frozenset[str]


@dataclass(slots=True)
class RawNote:
    """A note, chord or rest as it stands in the file: one `<note>` for each head.

    Attributes:
        bar: Index of its bar.
        onset: Quarter notes from the start of the bar.
        duration: Length of its first head in quarter notes.
        order: Place in the document, to compare with other things in it.
        heads: Its `<note>` elements.
        staff: Number of its staff, from 1.
        voice: Its voice as in the file; "1" where the file names none.
        is_grace: It takes no time of its own.
        is_rest: Nothing sounds.
    """

    bar: int
    onset: Fraction
    duration: Fraction
    order: int
    heads: list[RawHead]
    staff: int
    voice: str
    is_grace: bool
    is_rest: bool


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
        raise unreadable(excerpt, bar, error) from error


def unreadable(excerpt: Excerpt, bar: int, error: Exception) -> ScoreError:
    """What is said where a number in a bar cannot be read as one."""
    label = excerpt.bars[bar].label
    place = ", ".join(part for part in (excerpt.origin.score, f"bar {label}") if part)
    return ScoreError(
        f"a number in the music cannot be read ({error}).", where=place, hint="Export the score again."
    )


class _Walker:
    def __init__(self) -> None:
        self.part = RawPart()
        self._divisions = Fraction(1)
        self._lengths: dict[str | None, Fraction] = {}
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
                    back = self._length(element.findtext("duration"))
                    self._cursor = max(Fraction(0), self._cursor - back)
                case "forward":
                    self._cursor += self._length(element.findtext("duration"))
                case "attributes":
                    self._divisions = _number(element.findtext("divisions"), self._divisions)
                    self._lengths.clear()
                    self._place(element, self._cursor)
                case "barline":
                    self._place(element, _barline_onset(element, self._cursor, bar.length))
                case _:
                    self._place(element, self._cursor)

    def _length(self, text: str | None) -> Fraction:
        """Quarter notes of a `<duration>`: few are different, and dividing anew takes longer than to look up."""
        length = self._lengths.get(text)
        if length is None:
            length = max(Fraction(0), _number(text, Fraction(0))) / self._divisions
            self._lengths[text] = length
        return length

    def _note(self, element: etree._Element) -> None:
        children: Children = {}
        for child in element:
            children.setdefault(str(child.tag), child)
        grace, rest = "grace" in children, "rest" in children
        length = Fraction(0) if grace else self._length(_text(children, "duration"))
        head = RawHead(element, children, length, _ties(element, children))
        notes = self.part.notes
        onset = self._cursor
        if "chord" not in children:
            self._cursor += length
        elif notes and notes[-1].bar == self._bar:
            if not notes[-1].is_rest:
                notes[-1].heads.append(head)
                return
            # A chord note on a rest makes no sense; it sounds where the rest begins.
            onset = notes[-1].onset
        else:
            self._cursor += length
        staff, voice = int(_text(children, "staff") or 1), (_text(children, "voice") or "1").strip()
        notes.append(RawNote(self._bar, onset, length, self._order, [head], staff, voice, grace, rest))

    def _place(self, element: etree._Element, onset: Fraction) -> None:
        for length in element.iter(*LENGTHS):
            length.text = str(_number(length.text, Fraction(0)) / self._divisions)
        self.part.placed.append(RawPlaced(self._bar, onset, self._order, element))


def _text(children: Children, name: str) -> str | None:
    child = children.get(name)
    return None if child is None else child.text


def _ties(note: etree._Element, children: Children) -> frozenset[str]:
    edges: set[str] = set()
    if "tie" in children:
        edges.update(str(tie.get("type")) for tie in note.iterchildren("tie"))
    if "notations" in children:
        for notations in note.iterchildren("notations"):
            edges.update(str(tied.get("type")) for tied in notations.iterchildren("tied"))
    return frozenset(edges & {"start", "stop"}) if edges else _NO_TIE


def _number(text: str | None, default: Fraction) -> Fraction:
    return Fraction(text.strip()) if text and text.strip() else default


def _barline_onset(element: etree._Element, cursor: Fraction, length: Fraction) -> Fraction:
    location = element.get("location", "right")
    return {"left": Fraction(0), "right": max(length, cursor)}.get(location, cursor)
