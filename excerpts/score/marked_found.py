"""A mark as it was found in the score, before its bars have an address."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from lxml import etree

from excerpts.score.address import BarRange

By = Literal["bracket", "rectangle", "colour"]

What = Literal["bracket line", "words", "colour"]


class Made(NamedTuple):
    """An element that makes a box.

    Attributes:
        element: The element; for a colour the note that has it.
        bar: Index of its measure, from 0.
        what: What it is, as reports call it.
    """

    element: etree._Element
    bar: int
    what: What


@dataclass(frozen=True, slots=True)
class Found:
    """A passage that is marked.

    Attributes:
        by: What marks it.
        text: The words at it, or the colour of the notes.
        span: The passage.
        elements: The elements that mark it.
        why: The faults that the words name.
        note: What else they say.
    """

    by: By
    text: str
    span: BarRange
    elements: tuple[Made, ...]
    why: tuple[str, ...] = ()
    note: str = ""


class Unread(NamedTuple):
    """Something that looks like a mark, and is none that can be read.

    Attributes:
        bar: Index of its measure, from 0; None for the part as a whole.
        what: What it is, and why it is no box.
    """

    bar: int | None
    what: str


_RECTANGLES: Final = ("rectangle", "square")


def in_rectangle(words: etree._Element) -> bool:
    """Whether words stand in a rectangle."""
    return words.get("enclosure") in _RECTANGLES


Read = tuple[list[Found], list[Unread]]
"""What one kind of mark gives: boxes, and what is none."""
