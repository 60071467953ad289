"""Writes a line of events as an excerpt: valid MusicXML 4.0 that a player can read at sight."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.musicxml.elements import Key, MeasureTag, Opaque
from excerpts.musicxml.format import ATTRIBUTES_ORDER, VERSION, insert_in_order, serialise
from excerpts.musicxml.pitch import Speller, alterations, key_alterations
from excerpts.notes.model import TimedElement, Voice
from excerpts.notes.note_element import note_text
from excerpts.notes.spell_events import lay_out
from excerpts.notes.spelling import Note
from excerpts.notes.write_signs import (
    lengths_in,
    measure_start,
    node,
    placed_text,
    score_part_text,
    sign_text,
)

_Item = tuple[tuple[int, int, int], Note | TimedElement]
"""Something in a bar with its place in it: onset in divisions, place among the grace notes there, notes last."""


def write_line(line: Voice) -> Excerpt:
    """Write a line as an excerpt of one part with one staff.

    Args:
        line: Events in order; they need not fill their bars.

    Returns:
        The excerpt; its bars, boxes, open ends, tempo, origin and report are those of the line.
    """
    bars = lay_out(line)
    divisions = _divisions(line, bars)
    speller = Speller()
    placed: list[list[TimedElement]] = [[] for _ in bars]
    for item in line.placed:
        placed[item.bar].append(item)
    measures = [
        _BarWriter(divisions, speller).text(placed[index], notes, line.bars[index].length)
        for index, notes in enumerate(bars)
    ]
    root = etree.fromstring(_document(line, measures))
    _set_divisions(root[-1][0], divisions)
    _drop_copied_ids(root)
    return Excerpt(
        xml=serialise(root),
        bars=line.bars,
        boxes=line.boxes,
        open_ends=line.open_ends,
        tempo=line.tempo,
        origin=line.origin,
        report=line.report,
    )


def with_second_part(excerpt: Excerpt, line: Voice) -> bytes:
    """The file of an excerpt of one part with a line of as many bars as a second part."""
    root, below = excerpt.tree(), write_line(line).tree()
    for path in ("part-list/score-part", "part"):
        for own, more in zip(root.findall(path), below.findall(path), strict=True):
            own.addnext(more)
    return serialise(root)


def _divisions(line: Voice, bars: list[list[Note]]) -> int:
    """Divisions of a quarter note that make every length in the part a whole number."""
    denominators = {1}
    for note in (note for notes in bars for note in notes):
        denominators.add(note.onset.denominator)
        denominators.add(note.duration.denominator)
        for head in note.event.heads:
            if head.duration is not None:
                denominators |= {head.duration.denominator, note.since.denominator}
    for bar in line.bars:
        denominators.add(bar.length.denominator)
    for placed in line.placed:
        denominators.add(placed.onset.denominator)
        denominators |= {length.denominator for length in lengths_in(placed.sign)}
    return lcm(*denominators)


def _document(line: Voice, measures: Sequence[str]) -> str:
    """The whole file as text."""
    tags = line.measures or tuple(
        MeasureTag(bar.label, implicit=not index and bar.label == "0") for index, bar in enumerate(line.bars)
    )
    bars = (f"{measure_start(tag)}{bar}</measure>" for tag, bar in zip(tags, measures, strict=True))
    return (
        f'<score-partwise version="{VERSION}">{"".join(map(sign_text, line.head))}'
        f"<part-list>{score_part_text(line.part)}</part-list>"
        f"{node('part', ''.join(bars), {'id': line.part.id})}</score-partwise>"
    )


def _set_divisions(measure: etree._Element, divisions: int) -> None:
    first = next((e for e in measure if e.tag in {"attributes", "note", "forward", "backup"}), None)
    if first is None or first.tag != "attributes":
        attributes = etree.Element("attributes")
        measure.insert(0 if first is None else measure.index(first), attributes)
        first = attributes
    element = etree.Element("divisions")
    element.text = str(divisions)
    insert_in_order(first, element, ATTRIBUTES_ORDER)


_REFERENCES: Final = {"instrument", "part", "midi-device", "midi-instrument"}
"""Elements whose `id` names another element."""


def _drop_copied_ids(root: etree._Element) -> None:
    """Leave each id where it comes first: a note that is written again is another element."""
    seen: set[str] = set()
    for element in root.iter(etree.Element):
        name = element.get("id")
        if name is None or element.tag in _REFERENCES:
            continue
        if name in seen:
            del element.attrib["id"]
        seen.add(name)


class _BarWriter:
    """Writes the contents of one bar, moving the cursor where the next thing is not where it stands.

    It counts in divisions, which are whole numbers.
    """

    def __init__(self, divisions: int, speller: Speller) -> None:
        self._texts: list[str] = []
        self._divisions = divisions
        self._speller = speller
        self._cursor = 0
        self._furthest = 0

    def text(self, placed_here: list[TimedElement], notes: list[Note], length: Fraction) -> str:
        """Everything in a bar of a length in quarter notes, as the text of its elements."""
        self._speller.start_bar()
        for (onset, _, _), item in self._in_order(placed_here, notes, self._ticks(length)):
            self._move(onset)
            if isinstance(item, TimedElement):
                self._place(item)
            else:
                self._write(item)
        # The cursor is left at the end of what was written, as readers expect.
        self._move(max(self._furthest, self._cursor))
        return "".join(self._texts)

    def _in_order(self, placed_here: list[TimedElement], notes: list[Note], length: int) -> list[_Item]:
        """Notes and other things of the bar in the order in which they are written."""
        items: list[_Item] = []
        graces: dict[int, int] = {}
        for note in notes:
            onset = self._ticks(note.onset)
            count = graces.get(onset, 0)
            items.append(((onset, count, 1), note))
            graces[onset] = count + 1
        for placed in placed_here:
            onset = self._ticks(placed.onset)
            late = placed.name == "barline" and onset >= length
            items.append(((onset, 10**6 if late else placed.graces, 0), placed))
        return sorted(items, key=lambda pair: pair[0])

    def _place(self, placed: TimedElement) -> None:
        """Write something that is not a note."""
        for sign in placed.signatures:
            if isinstance(sign, Key):
                self._speller.set_key(alterations(sign.fifths))
            elif isinstance(sign, Opaque) and sign.name == "key":
                self._speller.set_key(key_alterations(etree.fromstring(sign.xml)))
        self._texts.append(placed_text(placed.sign, self._ticks))

    def _write(self, note: Note) -> None:
        """Write a note, chord or rest."""
        self._texts.append(note_text(note, self._ticks, self._speller))
        self._cursor += self._ticks(note.duration)
        self._furthest = max(self._furthest, self._cursor)

    def _move(self, onset: int) -> None:
        if onset != self._cursor:
            name = "forward" if onset > self._cursor else "backup"
            self._texts.append(f"<{name}><duration>{abs(onset - self._cursor)}</duration></{name}>")
            self._cursor = onset
            self._furthest = max(self._furthest, onset)

    def _ticks(self, length: Fraction) -> int:
        times, left = divmod(self._divisions, length.denominator)
        if left:
            raise ArithmeticError(f"{length} quarter notes are no whole number of 1/{self._divisions}")
        return length.numerator * times
