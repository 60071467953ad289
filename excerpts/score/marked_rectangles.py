"""Words in a rectangle: bars, faults, or just a box."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from lxml import etree

from excerpts.errors import AddressError
from excerpts.score.address import BarRange
from excerpts.score.bars import Bars
from excerpts.score.marked_found import Found, Made, Read, Unread, in_rectangle
from excerpts.score.marked_words import Meaning, plain_text, read_words

if TYPE_CHECKING:
    from excerpts.score.score import Part

_FAR: Final = 16
"""Bars from one text to the same again after which each stands for its own bar: no box is that long (from memory)."""

_HOW: Final = 'write its bars ("bars 12-16"), a fault ("shift") or "box" in it'


def rectangles(part: Part, taken: set[etree._Element]) -> Read:
    """The passages that words in rectangles name, and the words that are not understood.

    Args:
        part: The part.
        taken: Words that belong to a bracket line already.
    """
    found: list[Found] = []
    unread: list[Unread] = []
    places: dict[str, list[tuple[int, etree._Element]]] = {}
    for index, words, text in _texts(part.bars):
        if words not in taken and (in_rectangle(words) or _is_plain(text)):
            places.setdefault(text, []).append((index, words))
    for text, stands in places.items():
        meaning = read_words(text)
        if meaning is None:
            told = f'"{text[:60]}" in a rectangle names no passage; to box one, {_HOW}'
            unread += [Unread(index, told) for index, _ in stands]
        elif meaning.address:
            _take_address(part, text, meaning, stands, found, unread)
        else:
            found += _here(part.bars, text, meaning, stands)
    return found, unread


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
    found: list[Found],
    unread: list[Unread],
) -> None:
    try:
        span = part.passage(meaning.address).span
    except AddressError as error:
        told = f'"{text[:60]}" in a rectangle: {error.what.rstrip(".")}. {error.hint.rstrip(".")}'
        unread += [Unread(index, told) for index, _ in stands]
        return
    away = [index for index, _ in stands if not span.first <= index <= span.last]
    if meaning.alone and away:
        told = f'"{text}" in a rectangle is in another bar; if bar {text} is meant, write "bar {text}"'
        unread += [Unread(index, told) for index in away]
        stands = [(index, words) for index, words in stands if index not in away]
    if stands:
        found.append(_found(text, meaning, span, stands))


def _here(
    bars: Bars, text: str, meaning: Meaning, stands: list[tuple[int, etree._Element]]
) -> Iterator[Found]:
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


def _found(text: str, meaning: Meaning, span: BarRange, stands: list[tuple[int, etree._Element]]) -> Found:
    made = tuple(Made(words, index, "words") for index, words in stands)
    return Found("rectangle", text, span, made, meaning.why, meaning.note)


def _whole(bars: Bars, first: int, last: int) -> BarRange:
    return BarRange(first, Fraction(0), last, bars.length(last))
