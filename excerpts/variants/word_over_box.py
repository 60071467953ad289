"""A word over the first note of a box: what is guessed in a variant is said on the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from excerpts.musicxml import elements
from excerpts.musicxml.elements import ITALIC, Direction
from excerpts.notes import TimedElement, Voice
from excerpts.variants.passage import box_times


def with_word(line: Voice, word: str) -> Voice:
    """The line with a word over the first note of its box."""
    return replace(line, placed=placed_with_word(line, line.placed, word))


def placed_with_word(line: Voice, placed: Iterable[TimedElement], word: str) -> tuple[TimedElement, ...]:
    """What is placed in a line, and a word over the first note of its box."""
    low = box_times(line)[0]
    bar = line.bar_at(low)
    said = TimedElement(bar, low - line.bars[bar].start, Direction.of(elements.Words(word, ITALIC)))
    return tuple(sorted((*placed, said), key=lambda one: (one.bar, one.onset, one.graces)))
