"""Writing the inside of a bar anew from elements and their times, with the moves between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from excerpts.musicxml.timeline import Moment, divisions_in, plain

MOVES = ("backup", "forward")


@dataclass(frozen=True, slots=True)
class PlacedElement:
    """An element and where in its bar it stands.

    Attributes:
        element: A child for the bar.
        cursor: Where the cursor has to stand when it is met, in quarter notes from the start of the bar.
        moves: How far it moves the cursor on: the length of a note that is not in a chord, else 0.
    """

    element: etree._Element
    cursor: Fraction
    moves: Fraction


def placed(moment: Moment) -> PlacedElement:
    """The element of a moment, to be written at the same time again."""
    note = moment.element
    in_chord = note.tag == "note" and note.find("chord") is not None
    return PlacedElement(note, moment.cursor, Fraction(0) if in_chord else moment.duration)


def rebuild(
    measure: etree._Element, elements: Iterable[PlacedElement], divisions: Fraction, end: Fraction
) -> None:
    """Write a bar anew.

    Args:
        measure: The bar; what it holds is replaced.
        elements: Its elements in their new order; chord notes behind their main note.
        divisions: Divisions of a quarter note in force at its start.
        end: Where the cursor has to stand at its end.
    """
    elements = list(elements)
    for child in list(measure):
        measure.remove(child)
    at = Fraction(0)
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
