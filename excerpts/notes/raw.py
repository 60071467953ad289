"""Finds when each element of a part happens, before notes become events (`excerpts.musicxml.timeline`)."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError
from excerpts.excerpt import BarRef, Excerpt, bar_name
from excerpts.musicxml.timeline import FIRST_DIVISIONS, Children, Moment
from excerpts.musicxml.timeline import walk as timed

LENGTHS: Final = ("offset", "duration")
"""Elements inside directions, harmonies and figured basses that hold a length in divisions."""

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


def walk_part(excerpt: Excerpt, root: etree._Element) -> RawPart:
    """Find the time of everything in the bars of the excerpt's only part."""
    reader = _Reader()
    part = root.find("part")
    measures = [] if part is None else part.findall("measure")
    for index, (bar, measure) in enumerate(zip(excerpt.bars, measures, strict=True)):
        with numbers_of(excerpt, index):
            reader.bar(index, bar, measure)
    return reader.part


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
    where = excerpt.origin.where(bar_name(excerpt.bars, bar))
    return ScoreError(
        f"a number in the music cannot be read ({error}).", where=where, hint="Export the score again."
    )


class _Reader:
    def __init__(self) -> None:
        self.part = RawPart()
        self._divisions = FIRST_DIVISIONS
        self._order = 0

    def bar(self, index: int, bar: BarRef, measure: etree._Element) -> None:
        time = timed(measure, self._divisions)
        self._divisions = time.divisions
        for moment in time.moments:
            self._order += 1
            match moment.element.tag:
                case "note":
                    self._note(index, moment)
                case "backup" | "forward":
                    pass
                case "barline":
                    self._place(index, moment, _barline_onset(moment, bar.length))
                case _:
                    self._place(index, moment, moment.cursor)

    def _note(self, bar: int, moment: Moment) -> None:
        children = moment.children
        grace, rest = "grace" in children, "rest" in children
        if not (moment.duration or grace):
            Fraction(_text(children, "duration") or 0)  # one that is no number is refused, not taken for 0
        head = RawHead(moment.element, children, moment.duration, _ties(moment.element, children))
        notes = self.part.notes
        # A chord note on a rest makes no sense; it sounds where the rest begins.
        if "chord" in children and notes and notes[-1].bar == bar and not notes[-1].is_rest:
            notes[-1].heads.append(head)
            return
        staff, voice = int(_text(children, "staff") or 1), (_text(children, "voice") or "1").strip()
        notes.append(
            RawNote(bar, moment.onset, moment.duration, self._order, [head], staff, voice, grace, rest)
        )

    def _place(self, bar: int, moment: Moment, onset: Fraction) -> None:
        element = moment.element
        if element.tag == "attributes" and element.find("divisions") is not None:
            Fraction(1) / Fraction((element.findtext("divisions") or "").strip())  # refused if it is none
        for length in element.iter(*LENGTHS):
            length.text = str(Fraction((length.text or "0").strip()) / moment.divisions)
        self.part.placed.append(RawPlaced(bar, onset, self._order, element))


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


def _barline_onset(moment: Moment, length: Fraction) -> Fraction:
    location = moment.element.get("location", "right")
    return {"left": Fraction(0), "right": max(length, moment.cursor)}.get(location, moment.cursor)
