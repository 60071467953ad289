"""Bracket lines over a passage."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.musicxml.timeline import Moment, walk
from excerpts.score.address import BarRange
from excerpts.score.bars import Bars
from excerpts.score.lines_of_words import words_of_line
from excerpts.score.marked_found import Found, Made, Read, Unread, in_rectangle
from excerpts.score.marked_words import is_for_playing, plain_text, read_words
from excerpts.score.pairing import SpanEnd, pair_spans


def bracket_lines(bars: Bars) -> Read:
    """The passages under bracket lines, and the lines that mark none though they may have been meant to."""
    found: list[Found] = []
    unread: list[Unread] = []
    if not any(measure.find("direction/direction-type/bracket") is not None for measure in bars.measures):
        return found, unread
    pairing = pair_spans(bars)
    for start, stop in pairing.pairs:
        if start.kind == "bracket":
            between = [middle for middle, of in pairing.middles if of is start]
            _take(bars, start, stop, between, found, unread)
    for end in pairing.lone:
        if end.kind == "bracket" and not _goes_with_playing(end.holder):
            unread.append(Unread(end.bar, _LONE[end.element.get("type") == "start"]))
    return found, unread


_LONE = {
    True: "a bracket line begins that never ends, and boxes nothing",
    False: "a bracket line ends that never began, and boxes nothing",
}


def _goes_with_playing(holder: etree._Element) -> bool:
    return any(is_for_playing(_text(words)) for words in words_of_line(holder))


def _take(
    bars: Bars,
    start: SpanEnd,
    stop: SpanEnd,
    between: list[SpanEnd],
    found: list[Found],
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
    line = tuple(Made(end.element, end.bar, "bracket line") for end in (start, *between, stop))
    found.append(
        Found(
            "bracket",
            " ".join(_text(words) for words, _ in said),
            span,
            (*line, *(Made(words, start.bar, "words") for words, _ in said)),
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
        notes = [moment for moment in _moments(bars, start.bar) if moment.onset >= begin and moment.duration]
        if not notes:
            return None
        last, end = start.bar, min(notes, key=lambda moment: moment.onset).end
    if begin >= length and last > start.bar:
        return BarRange(start.bar + 1, Fraction(0), last, min(end, bars.length(last)))
    end = min(end, bars.length(last))
    return BarRange(start.bar, begin, last, end) if (start.bar, begin) < (last, end) else None


def _onset(bars: Bars, end: SpanEnd) -> Fraction:
    found = next(moment.onset for moment in _moments(bars, end.bar) if moment.element is end.holder)
    return max(found, Fraction(0))


def _moments(bars: Bars, index: int) -> tuple[Moment, ...]:
    return walk(bars.measures[index], bars.state(index).divisions).moments
