"""What a level allows a variant to ask of its player. Defaults, replacements and the offers of `next` keep to it.

In the first year a variant asks nothing that the piece does not ask already: no other values (doubled ones are allowed:
counted in a doubled beat they are the same), no dotted figure, no longer bow, no mark inside a bow, no part of the bow
but the middle, no rounds at two speeds and no bow in the air. Later levels bear everything. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import prod
from typing import Final

from lxml import etree

from excerpts.instruments.instrument import Level
from excerpts.variants import parse_variant

_IN_THE_MIDDLE: Final = {"", "middle"}
_LATER: Final = {"half-and-full", "silent-bow"}


@dataclass(frozen=True, slots=True)
class Demands:
    """What music asks of who reads and bows it.

    Attributes:
        values: The lengths of its notes in quarter notes.
        figures: A dotted note and its neighbour, in order, by their lengths.
        bow: The most notes in one bow.
        marks: The marks on notes inside a bow.
    """

    values: frozenset[Fraction]
    figures: frozenset[tuple[Fraction, Fraction]]
    bow: int
    marks: frozenset[str]

    def within(self, other: Demands, longer: int) -> bool:
        """Whether other music, as it is or `longer` times as long, asks all of this already."""
        values = other.values | {value * longer for value in other.values}
        figures = {(first * longer, second * longer) for first, second in other.figures}
        bows = self.bow <= other.bow and self.marks <= other.marks
        return bows and self.values <= values and self.figures <= figures


def demands(measures: Iterable[etree._Element]) -> Demands:
    """Read what some bars of one part ask."""
    reader = _Reader()
    for measure in measures:
        for element in measure:
            reader.take(element)
    return Demands(
        frozenset(reader.values), frozenset(reader.figures), reader.longest, frozenset(reader.marks)
    )


class _Reader:
    """Goes through the notes of a part."""

    def __init__(self) -> None:
        self.values: set[Fraction] = set()
        self.figures: set[tuple[Fraction, Fraction]] = set()
        self.longest = 1
        self.marks: set[str] = set()
        self._divisions = Fraction(1)
        self._before: Fraction | None = None
        self._open = 0
        self._bow = 0

    def take(self, element: etree._Element) -> None:
        """Take in one element of a bar."""
        if element.tag == "attributes":
            self._divisions = Fraction(element.findtext("divisions") or self._divisions)
        elif element.tag in {"backup", "forward"}:
            self._before = None
        elif element.tag == "note":
            self._note(element)

    def _note(self, note: etree._Element) -> None:
        if note.find("grace") is not None or note.find("cue") is not None or note.find("chord") is not None:
            return
        length = Fraction(note.findtext("duration") or 0) / self._divisions
        if note.find("rest") is not None or not length:
            self._before = None
            return
        self.values.add(length)
        if self._before is not None and (_dotted(length) or _dotted(self._before)):
            self.figures.add((self._before, length))
        self._before = length
        self._bowed(note)

    def _bowed(self, note: etree._Element) -> None:
        edges = [slur.get("type") for slur in note.iterfind("notations/slur")]
        again = note.find("tie[@type='stop']") is not None
        self._open += edges.count("start")
        if self._open:
            self._bow += not again
            self.marks |= {str(mark.tag) for mark in note.iterfind("notations/articulations/*")}
        self.longest = max(self.longest, self._bow)
        self._open = max(self._open - edges.count("stop"), 0)
        if not self._open:
            self._bow = 0


def _dotted(length: Fraction) -> bool:
    """Whether a length is that of a note with dots: three or seven parts of a plain one."""
    return length.numerator in {3, 7}


def allows(level: Level, name: str, asks: Callable[[], tuple[Demands, Demands]] | None) -> bool:
    """Whether a variant is for a level.

    Args:
        level: The player's.
        name: The variant as typed.
        asks: Gives what the variant asks, and what the piece asks; None where the notes are not known.
    """
    if level != "first":
        return True
    steps = parse_variant(name)
    if any(_is_for_later(step.variant.info.name, step.parameter) for step in steps):
        return False
    if asks is None or all(step.variant.info.same_notes for step in steps):
        return all(step.variant.info.same_notes for step in steps)
    made, piece = asks()
    return made.within(piece, prod(step.variant.info.longer for step in steps))


def _is_for_later(name: str, parameter: str) -> bool:
    return name in _LATER or (name == "bow-part" and parameter not in _IN_THE_MIDDLE)
