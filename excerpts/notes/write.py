"""Writes a line of events as an excerpt: valid MusicXML 4.0 that a player can read at sight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import lcm
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.musicxml import ATTRIBUTES_ORDER, VERSION, insert_in_order, serialise
from excerpts.notes.accidentals import Speller
from excerpts.notes.layout import lay_out
from excerpts.notes.model import Line, Placed
from excerpts.notes.note import Note
from excerpts.notes.note_element import note_elements

_LENGTHS: Final = ("offset", "duration")
"""Elements of a `Placed` that hold a length in quarter notes."""


def write_line(line: Line) -> Excerpt:
    """Write a line as an excerpt of one part with one staff.

    Args:
        line: Events in order; they need not fill their bars.

    Returns:
        The excerpt; its bars, boxes, open ends, tempo, origin and report are those of the line.
    """
    bars = lay_out(line)
    divisions = _divisions(line, bars)
    root = etree.Element("score-partwise", version=VERSION)
    if line.head:
        root.extend(list(etree.fromstring(f"<head>{line.head}</head>")))
    score_part = etree.fromstring(line.part)
    etree.SubElement(root, "part-list").append(score_part)
    part = etree.SubElement(root, "part", id=score_part.get("id", "P1"))
    speller = Speller()
    placed: list[list[Placed]] = [[] for _ in bars]
    for item in line.placed:
        placed[item.bar].append(item)
    for index, notes in enumerate(bars):
        measure = _start_tag(line, index)
        _fill(measure, _in_order(placed[index], notes, line.bars[index].length), divisions, speller)
        part.append(measure)
    _set_divisions(part[0], divisions)
    return Excerpt(
        xml=serialise(root),
        bars=line.bars,
        boxes=line.boxes,
        open_ends=line.open_ends,
        tempo=line.tempo,
        origin=line.origin,
        report=line.report,
    )


def _divisions(line: Line, bars: list[list[Note]]) -> int:
    """Divisions of a quarter note that make every length in the part a whole number."""
    denominators = {1}
    for note in (note for notes in bars for note in notes):
        denominators |= {note.onset.denominator, note.duration.denominator}
        denominators |= {head.duration.denominator for head in note.event.heads if head.duration is not None}
    for bar in line.bars:
        denominators.add(bar.length.denominator)
    for placed in line.placed:
        denominators.add(placed.onset.denominator)
        denominators |= {Fraction(e.text or "0").denominator for e in _length_elements(placed.xml)}
    return lcm(*denominators)


def _length_elements(xml: str) -> Iterator[etree._Element]:
    if any(f"<{name}" in xml for name in _LENGTHS):
        yield from etree.fromstring(xml).iter(*_LENGTHS)


def _fill(measure: etree._Element, items: Iterable[Note | Placed], divisions: int, speller: Speller) -> None:
    writer = _BarWriter(measure, divisions, speller)
    speller.start_bar()
    for item in items:
        if isinstance(item, Placed):
            writer.place(item)
        else:
            writer.write(item)
    writer.finish()


def _start_tag(line: Line, index: int) -> etree._Element:
    if line.measures:
        return etree.fromstring(line.measures[index])
    measure = etree.Element("measure", number=line.bars[index].label)
    if index == 0 and line.bars[0].label == "0":
        measure.set("implicit", "yes")
    return measure


def _in_order(placed_here: list[Placed], notes: list[Note], length: Fraction) -> Iterable[Note | Placed]:
    """Notes and other things of a bar in the order in which they are written."""
    items: list[tuple[tuple[Fraction, int, int], Note | Placed]] = []
    graces: dict[Fraction, int] = {}
    for note in notes:
        count = graces.get(note.onset, 0)
        items.append(((note.onset, count, 1), note))
        graces[note.onset] = count + 1
    for placed in placed_here:
        late = placed.name == "barline" and placed.onset >= length
        items.append(((placed.onset, 10**6 if late else placed.graces, 0), placed))
    return [item for _, item in sorted(items, key=lambda pair: pair[0])]


def _set_divisions(measure: etree._Element, divisions: int) -> None:
    first = next((e for e in measure if e.tag in {"attributes", "note", "forward", "backup"}), None)
    if first is None or first.tag != "attributes":
        attributes = etree.Element("attributes")
        measure.insert(0 if first is None else measure.index(first), attributes)
        first = attributes
    element = etree.Element("divisions")
    element.text = str(divisions)
    insert_in_order(first, element, ATTRIBUTES_ORDER)


class _BarWriter:
    """Writes the contents of one bar, moving the cursor where the next thing is not where it stands."""

    def __init__(self, measure: etree._Element, divisions: int, speller: Speller) -> None:
        self._measure = measure
        self._divisions = divisions
        self._speller = speller
        self._cursor = Fraction(0)
        self._furthest = Fraction(0)

    def place(self, placed: Placed) -> None:
        """Write something that is not a note."""
        self._move(placed.onset)
        element = etree.fromstring(placed.xml)
        for length in element.iter(*_LENGTHS):
            length.text = str(self._ticks(Fraction(length.text or "0")))
        for key in element.findall("key"):
            self._speller.set_key(key)
        self._measure.append(element)

    def write(self, note: Note) -> None:
        """Write a note, chord or rest."""
        self._move(note.onset)
        self._measure.extend(note_elements(note, self._ticks, self._speller))
        self._cursor += note.duration
        self._furthest = max(self._furthest, self._cursor)

    def finish(self) -> None:
        """Leave the cursor at the end of what was written, as readers expect."""
        self._move(max(self._furthest, self._cursor))

    def _move(self, onset: Fraction) -> None:
        if onset != self._cursor:
            move = etree.SubElement(self._measure, "forward" if onset > self._cursor else "backup")
            etree.SubElement(move, "duration").text = str(self._ticks(abs(onset - self._cursor)))
            self._cursor = onset
            self._furthest = max(self._furthest, onset)

    def _ticks(self, length: Fraction) -> int:
        ticks = length * self._divisions
        if ticks.denominator != 1:
            raise ArithmeticError(f"{length} quarter notes are no whole number of 1/{self._divisions}")
        return ticks.numerator
