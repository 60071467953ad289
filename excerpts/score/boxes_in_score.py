"""Passages that a teacher marked in the score itself, as a list of boxes, and the part without those marks for print.

What counts (W3C MusicXML 4.0):

- a bracket line, `<bracket type="start">` to its `type="stop"`: from where it starts to where it stops, to the
  beat; one that goes with words for playing ("sul G") is none, and words that are faults ("shift") say why;
- words in a rectangle, `<words enclosure="rectangle">` (or "square"), as `excerpts.score.marked_words` reads them:
  bars ("bars 12–16", in the numbers of the file) are that passage; other words stand for their one bar, the same
  twice within a few bars for the passage between, both bars included; what is not understood is no box; a frame of
  another shape counts where its words are understood;
- notes in one colour, `<note color="#…">` (or `color` of their `<notehead>`): a run of notes that follow each
  other in a voice, of one colour that is not black; from the first to the last of them, to the beat.

A part in which most notes have a colour is coloured for another reason, and its colours do not count.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING

from lxml import etree

from excerpts.errors import AddressError
from excerpts.score.address import beat_at, beats_of
from excerpts.score.bars import BarRange, Bars
from excerpts.score.marked_passages import By, MarkedPassage, Unread, bracket_lines, coloured_runs, rectangles
from excerpts.score.numbering import Numbering
from excerpts.score.score import Part, Score, TakenOut
from excerpts.score.slice import remove
from excerpts.score.write_address import bar_names

if TYPE_CHECKING:
    pass


@dataclass(frozen=True, slots=True)
class MarkedBox:
    """A passage that is marked in the score.

    Attributes:
        address: Its bars, as a box has them.
        by: What marks it.
        text: The words in the rectangle or at the bracket, the colour of the notes; "" where there are none.
        span: The same passage, resolved.
        why: The faults that the words name.
        note: What else they say of it.
    """

    address: str
    by: By
    text: str
    span: BarRange
    why: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class NotABox:
    """A mark that is not read as a box, for the teacher to know of.

    Attributes:
        bars: Numbers of the bars that it stands in; empty where it is the part as a whole.
        what: What it is, and why it is no box, as a sentence without its full stop.
    """

    bars: tuple[str, ...]
    what: str

    def __str__(self) -> str:
        if not self.bars:
            return f"{self.what}."
        shown = ", ".join(self.bars[:_MOST_LISTED])
        more = f" and {len(self.bars) - _MOST_LISTED} more" if len(self.bars) > _MOST_LISTED else ""
        return f"bar{'s' if len(self.bars) > 1 else ''} {shown}{more}: {self.what}."


_MOST_LISTED = 8
"""Bars that a message lists."""


@dataclass(frozen=True, slots=True)
class Marks:
    """What a teacher marked in a part.

    Attributes:
        boxes: The passages, in the order of their bars; each once.
        others: What looks like a mark and is not read as one.
        elements: The elements of the score that made the boxes, with the index of their bar and what they are.
    """

    boxes: tuple[MarkedBox, ...]
    others: tuple[NotABox, ...]
    elements: tuple[tuple[etree._Element, int, str], ...]


def read_marks(part: Part, pupil_bars: int = 0) -> Marks:
    """What is marked in a part; addresses are in the numbers of the pupil's own edition (`pupil_bars` higher)."""
    passages: list[MarkedPassage] = []
    unread: list[Unread] = []
    part.bars.mend(
        0, len(part.bars) - 1
    )  # to mend a bar later would put copies in place of what is found here
    lines, other_lines = bracket_lines(part.bars)
    taken = {words for line in lines for words, _, what in line.elements if what == "words"}
    for more, others in (
        (lines, other_lines),
        rectangles(part, taken),
        coloured_runs(part.bars),
    ):
        passages += more
        unread += others
    boxes: dict[BarRange, MarkedBox] = {}
    for one in passages:
        address, span = _address(part, one.span, pupil_bars)
        box = MarkedBox(address, one.by, one.text, span, one.why, one.note)
        boxes[span] = _joined(boxes[span], box) if span in boxes else box
    return Marks(
        tuple(sorted(boxes.values(), key=lambda box: (box.span.first, box.span.start, box.span.last))),
        _told(unread, part.bars, pupil_bars),
        tuple(element for one in passages for element in one.elements),
    )


def _joined(box: MarkedBox, other: MarkedBox) -> MarkedBox:
    """One passage that is marked twice has the faults and the note of both."""
    why = tuple(dict.fromkeys((*box.why, *other.why)))
    note = "; ".join(dict.fromkeys(text for text in (box.note, other.note) if text))
    return replace(box, why=why, note=note)


def _told(unread: Iterable[Unread], bars: Bars, pupil_bars: int) -> tuple[NotABox, ...]:
    """What was not understood in the order of its bars, the same in several bars once."""
    numbers = Numbering(bars, pupil_bars)
    places: dict[str, dict[str, None]] = {}
    for one in sorted(unread, key=lambda one: -1 if one.bar is None else one.bar):
        labels = places.setdefault(one.what, {})
        if one.bar is not None:
            labels[numbers.at(one.bar)] = None
    return tuple(NotABox(tuple(labels), what) for what, labels in places.items())


def _address(part: Part, span: BarRange, pupil_bars: int) -> tuple[str, BarRange]:
    """An address that names a span, to the beat; where a beat is halved, the whole beat is taken in."""
    bars = part.bars
    first, last = bar_names(bars, span.first, span.last, pupil_bars)
    plain = first if first == last else f"{first}-{last}"
    whole = part.passage(plain, pupil_bars).span
    start = beat_at(bars, bars.run_at(span.first), span.first, span.start)
    end = beat_at(bars, bars.run_at(span.last), span.last, span.end)
    if span == whole or start is None or end is None:
        return plain, whole
    begins, ends = _first_beat(bars, span.first), _first_beat(bars, span.last)
    # The part of a beat that a pick-up begins with has no whole number of its own.
    opening = f":{floor(start)}" if floor(start) >= begins else ""
    closing = max(ceil(end) - 1, 1)
    to_beat = f"{first}{opening}-{last}:{closing if closing >= ends else f'{float(ends):.6g}'}"
    try:
        exact = part.passage(to_beat, pupil_bars).span
    except AddressError:
        return plain, whole
    return (plain, whole) if exact == whole else (to_beat, exact)


def _first_beat(bars: Bars, index: int) -> Fraction:
    """The number of the beat that a bar begins with."""
    beats = beats_of(bars, bars.run_at(index))
    return beats[0] if beats else Fraction(1)


_DETAIL = "made a box"


def unmarked(part: Part) -> Part:
    """The part without the bracket lines, words and colours that mark boxes in it; the part given is not changed.

    Excerpts of it say in their report what is not there. Rectangles and lines that are no boxes stay.
    """
    made = read_marks(part).elements
    if not made:
        return part
    root = part.score.mended()
    copies = dict(zip(part.bars.part.iter(), root.findall("part")[part.index].iter(), strict=True))
    for element, _, what in made:
        if what == "colour":
            _make_black(copies[element])
        else:
            remove(copies[element])
    taken_out = dict.fromkeys(TakenOut(bar, what, _DETAIL) for _, bar, what in made)
    return Part(Score(root, part.score.name, part.score.warnings), part.index, tuple(taken_out))


def _make_black(note: etree._Element) -> None:
    """Take the colour from a note, and from the rests of its bar that have the same."""
    colour = note.get("color")
    rests = [rest for rest in note.itersiblings("note", preceding=True) if rest.find("rest") is not None]
    rests += [rest for rest in note.itersiblings("note") if rest.find("rest") is not None]
    for one in (note, *(rest for rest in rests if colour and rest.get("color") == colour)):
        for element in one.iter():
            element.attrib.pop("color", None)
