"""Marks in a score that make boxes: bracket lines, words in rectangles, notes in one colour."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from lxml import etree

from excerpts.errors import AddressError
from excerpts.musicxml.timeline import Moment
from excerpts.score.bars import BarRange, Bars
from excerpts.score.lines_of_words import words_of_line
from excerpts.score.marked_words import Meaning, is_for_playing, plain_text, read_words
from excerpts.score.pairing import SpanEnd, pair_spans
from excerpts.score.slice import heads_of, staff_of, voice_of

if TYPE_CHECKING:
    from excerpts.score.score import Part

By = Literal["bracket", "rectangle", "colour"]

What = Literal["bracket", "words", "colour"]


class MarkElement(NamedTuple):
    """An element that makes a box.

    Attributes:
        element: The element; for a colour the note that has it.
        bar: Index of its measure, from 0.
        what: What it is, as `ReportLine` has it.
    """

    element: etree._Element
    bar: int
    what: What


@dataclass(frozen=True, slots=True)
class MarkedPassage:
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
    elements: tuple[MarkElement, ...]
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


Read = tuple[list[MarkedPassage], list[Unread]]
"""What one kind of mark gives: boxes, and what is none."""


def bracket_lines(bars: Bars) -> Read:
    """The passages under bracket lines, and the lines that mark none though they may have been meant to."""
    passages: list[MarkedPassage] = []
    unread: list[Unread] = []
    if not any(measure.find("direction/direction-type/bracket") is not None for measure in bars.measures):
        return passages, unread
    pairing = pair_spans(bars)
    for start, stop in pairing.pairs:
        if start.kind == "bracket":
            between = [middle for middle, of in pairing.middles if of is start]
            _take_line(bars, start, stop, between, passages, unread)
    for end in pairing.lone:
        if end.kind == "bracket" and not _goes_with_playing(end.holder):
            unread.append(Unread(end.bar, _LONE[end.element.get("type") == "start"]))
    return passages, unread


_LONE = {
    True: "a bracket line begins that never ends, and boxes nothing",
    False: "a bracket line ends that never began, and boxes nothing",
}


def _goes_with_playing(holder: etree._Element) -> bool:
    return any(is_for_playing(_text(words)) for words in words_of_line(holder))


def _take_line(
    bars: Bars,
    start: SpanEnd,
    stop: SpanEnd,
    between: list[SpanEnd],
    passages: list[MarkedPassage],
    unread: list[Unread],
) -> None:
    read = [(words, read_words(_text(words))) for words in words_of_line(start.holder)]
    # Bars that a rectangle names are a passage of their own, whatever stands beside it.
    beside = [w for w, meaning in read if meaning is None or not meaning.address or not in_rectangle(w)]
    said = [(words, meaning) for words, meaning in read if meaning is not None and not meaning.address]
    span = _span(bars, start, stop)
    if not said and any(is_for_playing(_text(words)) for words in beside):
        return
    if not said and any(words.getparent() in start.holder for words in beside):
        text = " ".join(_text(words) for words in beside)
        unread.append(Unread(start.bar, f'the bracket line after "{text}" is taken to belong to these words'))
        return
    if span is None:
        unread.append(Unread(start.bar, "a bracket line has no note under it, and boxes nothing"))
        return
    line = tuple(MarkElement(end.element, end.bar, "bracket") for end in (start, *between, stop))
    passages.append(
        MarkedPassage(
            "bracket",
            " ".join(_text(words) for words, _ in said),
            span,
            (*line, *(MarkElement(words, start.bar, "words") for words, _ in said)),
            tuple(dict.fromkeys(fault for _, meaning in said for fault in meaning.why)),
            "; ".join(meaning.note for _, meaning in said if meaning.note),
        )
    )


def _text(words: etree._Element) -> str:
    return plain_text("".join(words.itertext()))


def _span(bars: Bars, start: SpanEnd, stop: SpanEnd) -> BarRange | None:
    """What sounds under a line: from its start up to its stop; a line of no length is over the note behind it."""
    begin = _onset(bars, start)
    last, end = stop.bar, _onset(bars, stop)
    if end <= 0 and last > start.bar:
        last, end = last - 1, bars.length(last - 1)
    length = bars.length(start.bar)
    if (last, end) <= (start.bar, begin):
        notes = [
            moment for moment in bars.time(start.bar).moments if moment.onset >= begin and moment.duration
        ]
        if not notes:
            return None
        last, end = start.bar, min(notes, key=lambda moment: moment.onset).end
    if begin >= length and last > start.bar:
        return BarRange(start.bar + 1, Fraction(0), last, min(end, bars.length(last)))
    end = min(end, bars.length(last))
    return BarRange(start.bar, begin, last, end) if (start.bar, begin) < (last, end) else None


def _onset(bars: Bars, end: SpanEnd) -> Fraction:
    onset = next(moment.onset for moment in bars.time(end.bar).moments if moment.element is end.holder)
    return max(onset, Fraction(0))


_FAR: Final = 16
"""Bars from one text to the same again after which each stands for its own bar: no box is that long (from memory)."""

_HOW: Final = 'write its bars ("bars 12-16"), a fault ("shift") or "box" in it'


def rectangles(part: Part, taken: set[etree._Element]) -> Read:
    """The passages that words in rectangles name, and words that are not understood; `taken` are passed over."""
    passages: list[MarkedPassage] = []
    unread: list[Unread] = []
    places: dict[str, list[tuple[int, etree._Element]]] = {}
    for index, words, text in _texts(part.bars):
        if words not in taken and (in_rectangle(words) or _is_plain(text)):
            places.setdefault(text, []).append((index, words))
    for text, stands in places.items():
        meaning = read_words(text)
        if meaning is None:
            why = f'"{text[:60]}" in a rectangle names no passage; to box one, {_HOW}'
            unread += [Unread(index, why) for index, _ in stands]
        elif meaning.address:
            _take_address(part, text, meaning, stands, passages, unread)
        else:
            passages += _here(part.bars, text, meaning, stands)
    return passages, unread


def _texts(bars: Bars) -> Iterator[tuple[int, etree._Element, str]]:
    for index, measure in enumerate(bars.measures):
        for words in measure.iterfind("direction/direction-type/words"):
            text = plain_text("".join(words.itertext()))
            if text and words.get("enclosure", "none") != "none":
                yield index, words, text


def _is_plain(text: str) -> bool:
    """Whether a text leaves no doubt, so that a frame of any shape will do; numbers in a circle may be fingers."""
    meaning = read_words(text)
    return meaning is not None and not meaning.alone


def _take_address(
    part: Part,
    text: str,
    meaning: Meaning,
    stands: list[tuple[int, etree._Element]],
    passages: list[MarkedPassage],
    unread: list[Unread],
) -> None:
    try:
        span = part.passage(meaning.address).span
    except AddressError as error:
        why = f'"{text[:60]}" in a rectangle: {error.what.rstrip(".")}. {error.hint.rstrip(".")}'
        unread += [Unread(index, why) for index, _ in stands]
        return
    away = [index for index, _ in stands if not span.first <= index <= span.last]
    if meaning.alone and away:
        why = f'"{text}" in a rectangle is in another bar; if bar {text} is meant, write "bar {text}"'
        unread += [Unread(index, why) for index in away]
        stands = [(index, words) for index, words in stands if index not in away]
    if stands:
        passages.append(_found(text, meaning, span, stands))


def _here(
    bars: Bars, text: str, meaning: Meaning, stands: list[tuple[int, etree._Element]]
) -> Iterator[MarkedPassage]:
    """The bar that words stand in, or the bars from them to the same words again."""
    waiting: tuple[int, etree._Element] | None = None
    for one in stands:
        if waiting is not None and one[0] - waiting[0] <= _FAR:
            yield _found(text, meaning, _whole(bars, waiting[0], one[0]), [waiting, one])
            waiting = None
            continue
        if waiting is not None:
            yield _found(text, meaning, _whole(bars, waiting[0], waiting[0]), [waiting])
        waiting = one
    if waiting is not None:
        yield _found(text, meaning, _whole(bars, waiting[0], waiting[0]), [waiting])


def _found(
    text: str, meaning: Meaning, span: BarRange, stands: list[tuple[int, etree._Element]]
) -> MarkedPassage:
    made = tuple(MarkElement(words, index, "words") for index, words in stands)
    return MarkedPassage("rectangle", text, span, made, meaning.why, meaning.note)


def _whole(bars: Bars, first: int, last: int) -> BarRange:
    return BarRange(first, Fraction(0), last, bars.length(last))


_BLACK: Final = re.compile(r"#(?:FF)?000000", re.IGNORECASE)
_MOST_COLOURED: Final = Fraction(1, 2)
_ALL: Final = "most notes of the part are coloured, so colour marks nothing in it"


@dataclass(slots=True)
class _Run:
    """A run of notes of one colour, from the first to the last so far."""

    colour: str
    first: int
    start: Fraction
    last: int = 0
    end: Fraction = Fraction(0)
    notes: list[MarkElement] = field(default_factory=list)

    def found(self) -> MarkedPassage:
        span = BarRange(self.first, self.start, self.last, self.end)
        return MarkedPassage("colour", self.colour, span, tuple(self.notes))


def coloured_runs(bars: Bars) -> Read:
    """The runs of notes in one colour, in order of their ends; none where most of the part is coloured."""
    notes = [
        note for measure in bars.measures for note in measure.iterfind("note") if note.find("rest") is None
    ]
    coloured = [note for note in notes if _colour(note)]
    if not coloured:
        return [], []
    if Fraction(len(coloured), len(notes)) > _MOST_COLOURED:
        return [], [Unread(None, _ALL)]
    passages: list[MarkedPassage] = []
    runs: dict[tuple[str, str], _Run] = {}
    for index, measure in enumerate(bars.measures):
        if not any(_colour(note) for note in measure.iterfind("note")) and not runs:
            continue
        for moment in _in_time(bars, index):
            _take_note(moment, index, runs, passages)
    return [*passages, *(run.found() for run in runs.values())], []


def _take_note(
    moment: Moment, index: int, runs: dict[tuple[str, str], _Run], passages: list[MarkedPassage]
) -> None:
    chord = heads_of(moment.element)
    colour = next((colour for note in chord if (colour := _colour(note))), "")
    key = (voice_of(moment.element), staff_of(moment.element))
    run = runs.get(key)
    if run is not None and run.colour != colour:
        passages.append(runs.pop(key).found())
    if colour:
        run = runs.setdefault(key, _Run(colour, index, moment.onset))
        run.last, run.end = index, moment.end
        run.notes += [MarkElement(note, index, "colour") for note in chord if _colour(note) == colour]


def _in_time(bars: Bars, index: int) -> list[Moment]:
    """The sounding notes of a bar in order of time; of a chord its first note only."""
    moments = [
        moment
        for moment in bars.time(index).moments
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
