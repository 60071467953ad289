"""The order in which bars are played when their repeats are taken: repeat signs and endings, no jumps by words.

W3C MusicXML 4.0: `<repeat direction times>`, `<ending number type>`. A repeat without a start goes back to the end of
the one before it, or to the beginning (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.elements import Barline
from excerpts.notes import Voice

Stretches = tuple[tuple[Fraction, Fraction], ...]
"""Starts and ends of what is played in a row, in quarter notes."""

_MOST_TIMES: Final = 8
"""Most times that a repeat is taken."""


@dataclass(slots=True)
class _Signs:
    """What stands at the barlines of a bar: a repeat begins, one ends after so many times, the endings it is in."""

    forward: bool = False
    times: int = 0
    endings: frozenset[int] = frozenset()


def stretches(line: Voice, start: Fraction, end: Fraction) -> Stretches:
    """What is played one after the other between two times of a line, counted from the first of them."""
    signs = _signs(line)
    places = [place for place, bar in enumerate(line.bars) if bar.start < end and bar.end > start]
    played: list[tuple[Fraction, Fraction]] = []
    for place in _order([signs[place] for place in places]):
        bar = line.bars[places[place]]
        first, last = max(bar.start, start) - start, min(bar.end, end) - start
        if played and played[-1][1] == first:
            played[-1] = (played[-1][0], last)
        else:
            played.append((first, last))
    return tuple(played) or ((Fraction(0), end - start),)


def _order(bars: list[_Signs]) -> Iterator[int]:
    """The places of the bars in the order in which they are played."""
    place, back, turn = 0, 0, 1
    while place < len(bars):
        bar = bars[place]
        left_ending = place > 0 and bars[place - 1].endings and not bar.endings
        if (bar.forward and place > back) or (left_ending and turn > 1):
            back, turn = place, 1
        if bar.endings and turn not in bar.endings:
            place += 1
            continue
        yield place
        if bar.times > turn:
            place, turn = back, turn + 1
            continue
        if bar.times:
            back = place + 1
            turn = turn if bar.endings else 1
        place += 1


def _signs(line: Voice) -> list[_Signs]:
    """The signs of each bar; an ending holds from its start to its stop."""
    by_bar = [_Signs() for _ in line.bars]
    starts: dict[int, frozenset[int]] = {}
    stops: set[int] = set()
    for placed in line.placed:
        for content in placed.sign.content if isinstance(placed.sign, Barline) else ():
            element = etree.fromstring(content.xml)
            if content.name == "repeat":
                if element.get("direction") == "forward":
                    by_bar[placed.bar].forward = True
                else:
                    by_bar[placed.bar].times = _times(element.get("times"))
            elif content.name == "ending" and element.get("type") == "start":
                starts[placed.bar] = frozenset(map(int, re.findall(r"\d{1,2}", element.get("number") or "1")))
            elif content.name == "ending":
                stops.add(placed.bar)
    current: frozenset[int] = frozenset()
    for bar, signs in enumerate(by_bar):
        current = starts.get(bar, current)
        signs.endings = current
        current = frozenset() if bar in stops else current
    return by_bar


def _times(text: str | None) -> int:
    return min(int(text), _MOST_TIMES) if text and text.isdecimal() and len(text) < 4 else 2
