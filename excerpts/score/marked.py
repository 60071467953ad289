"""Passages that a teacher marked in the score itself, as a list of boxes.

What counts (W3C MusicXML 4.0):

- a bracket line, `<bracket type="start">` to its `type="stop"`: from the bar of its start to the bar of its
  stop; a bracket that begins beside words belongs to the words ("sul G") and does not count;
- words in a rectangle, `<words enclosure="rectangle">` (or "square"): an address in the rectangle ("12-16",
  in the numbers of the file) is that passage; the same text twice is the passage between, both bars included;
  any other stands for its one bar; rehearsal marks are another element, and do not count;
- notes in one colour, `<note color="#…">` (or `color` of their `<notehead>`): a run of notes that follow each
  other in a voice, of one colour that is not black; from the first to the last of them, to the beat.

A part in which most notes have a colour is coloured for another reason, and its colours do not count.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING, Final, Literal

from lxml import etree

from excerpts.errors import AddressError
from excerpts.score.address import Span
from excerpts.score.bars import Bars
from excerpts.score.beats import beat_at
from excerpts.score.numbering import shifted
from excerpts.score.slice import staff_of, voice_of
from excerpts.score.spans import pair_spans
from excerpts.score.timeline import Moment, walk

if TYPE_CHECKING:
    from excerpts.score.score import Part

By = Literal["bracket", "rectangle", "colour"]

_RECTANGLES: Final = ("rectangle", "square")
_BLACK: Final = re.compile(r"#(?:FF)?000000", re.IGNORECASE)
_MOST_COLOURED: Final = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class MarkedBox:
    """A passage that is marked in the score.

    Attributes:
        address: Its bars, as a box has them.
        by: What marks it.
        text: The words in the rectangle, the colour of the notes; "" for a bracket.
        span: The same passage, resolved.
    """

    address: str
    by: By
    text: str
    span: Span


def marked_boxes(part: Part, pupil_bars: int = 0) -> tuple[MarkedBox, ...]:
    """The passages that are marked in a part, in the order of their bars; each passage once.

    Args:
        part: The part.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are; the addresses are in them.
    """
    found: dict[Span, MarkedBox] = {}
    for by, text, span in (*_brackets(part.bars), *_rectangles(part), *_colours(part.bars)):
        if span not in found:
            address, exact = _address(part, span, pupil_bars)
            found.setdefault(exact, MarkedBox(address, by, text, exact))
    return tuple(sorted(found.values(), key=lambda box: (box.span.first, box.span.start, box.span.last)))


_Found = tuple[By, str, Span]


def _brackets(bars: Bars) -> Iterator[_Found]:
    if not any(measure.find("direction/direction-type/bracket") is not None for measure in bars.measures):
        return
    for start, stop in pair_spans(bars).pairs:
        if start.kind == "bracket" and start.holder.find("direction-type/words") is None:
            last = stop.bar
            if last > start.bar and _at_start(bars, last, stop.holder):
                last -= 1
            yield "bracket", "", _whole(bars, start.bar, last)


def _at_start(bars: Bars, index: int, holder: etree._Element) -> bool:
    """Whether a stop stands before anything sounds in its bar: the line ended at the barline."""
    moments = walk(bars.measures[index], bars.state(index).divisions).moments
    return next(moment.onset for moment in moments if moment.element is holder) == 0


def _whole(bars: Bars, first: int, last: int) -> Span:
    return Span(first, Fraction(0), last, bars.length(last))


def _rectangles(part: Part) -> Iterator[_Found]:
    places: dict[str, list[int]] = {}
    for index, measure in enumerate(part.bars.measures):
        for words in measure.iterfind("direction/direction-type/words"):
            text = " ".join("".join(words.itertext()).split())
            if text and words.get("enclosure") in _RECTANGLES:
                places.setdefault(text, []).append(index)
    for text, indexes in places.items():
        named = _named(part, text)
        if named is not None:
            yield "rectangle", text, named
            continue
        for first, last in zip(indexes[::2], indexes[1::2], strict=False):
            yield "rectangle", text, _whole(part.bars, first, last)
        if len(indexes) % 2:
            yield "rectangle", text, _whole(part.bars, indexes[-1], indexes[-1])


def _named(part: Part, text: str) -> Span | None:
    """The passage that a rectangle names; only what begins with a number or @ can name one."""
    if not re.match(r"[@\d]", text):
        return None
    try:
        return part.passage(text).span
    except AddressError:
        return None


def _colours(bars: Bars) -> Iterator[_Found]:
    notes = [
        note for measure in bars.measures for note in measure.iterfind("note") if note.find("rest") is None
    ]
    coloured = [note for note in notes if _colour(note)]
    if not coloured or Fraction(len(coloured), len(notes)) > _MOST_COLOURED:
        return
    runs: dict[tuple[str, str], tuple[str, Span]] = {}
    for index, measure in enumerate(bars.measures):
        if not any(_colour(note) for note in measure.iterfind("note")) and not runs:
            continue
        for moment in _in_time(bars, index):
            key = (voice_of(moment.element), staff_of(moment.element))
            colour = _colour(moment.element)
            run = runs.get(key)
            if run is not None and run[0] != colour:
                yield "colour", *runs.pop(key)
            if colour:
                end = (index, moment.end)
                before = runs.get(key)
                begin = (before[1].first, before[1].start) if before else (index, moment.onset)
                runs[key] = (colour, Span(*begin, *end))
    for colour, span in runs.values():
        yield "colour", colour, span


def _in_time(bars: Bars, index: int) -> list[Moment]:
    """The sounding notes of a bar in order of time; of a chord its first note only."""
    moments = [
        moment
        for moment in walk(bars.measures[index], bars.state(index).divisions).moments
        if moment.element.tag == "note"
        and moment.element.find("rest") is None
        and moment.element.find("chord") is None
        and moment.duration
    ]
    return sorted(moments, key=lambda moment: moment.onset)


def _colour(note: etree._Element) -> str:
    """The colour of a note; "" for black."""
    head = note.find("notehead")
    colour = note.get("color") or (head.get("color") if head is not None else None) or ""
    return "" if _BLACK.fullmatch(colour) else colour.upper()


def _address(part: Part, span: Span, pupil_bars: int) -> tuple[str, Span]:
    """An address that names a span, to the beat; where a beat is halved, the whole beat is taken in."""
    bars = part.bars
    first, last = _named_bars(bars, span.first, span.last, pupil_bars)
    plain = first if first == last else f"{first}-{last}"
    whole = part.passage(plain, pupil_bars).span
    start = beat_at(bars, bars.run_at(span.first), span.first, span.start)
    end = beat_at(bars, bars.run_at(span.last), span.last, span.end)
    if span == whole or start is None or end is None:
        return plain, whole
    to_beat = f"{first}:{floor(start)}-{last}:{max(ceil(end) - 1, 1)}"
    return to_beat, part.passage(to_beat, pupil_bars).span


def _named_bars(bars: Bars, first: int, last: int, pupil_bars: int) -> tuple[str, str]:
    """Names of two bars: their numbers, or their places where a number is missing or comes twice."""
    labels = [bars.labels[index] for index in (first, last)]
    if all(label and len(bars.runs(label)) == 1 for label in labels) and not _like_marks(bars, labels):
        return shifted(labels[0], pupil_bars), shifted(labels[1], pupil_bars)
    return f"@{first + 1}", f"@{last + 1}"


def _like_marks(bars: Bars, labels: list[str]) -> bool:
    texts = {mark.text for mark in bars.marks}
    return any(
        label in texts and not label.isdecimal() or not re.fullmatch(r"\w+", label) for label in labels
    )
