"""Bars of rest that follow one another become one bar with one sign, as parts for players print them.

A run of them ends where a player looks for something: at a box, a direction, a change of clef, key or time, a double
bar, a repeat (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from lxml import etree

from excerpts.excerpt import Box, Excerpt, Position
from excerpts.musicxml.format import drop, serialise

_REST: Final = frozenset({"rest", "duration", "voice", "type", "dot", "staff"})
"""All that a rest has which tells nothing but that nothing is played."""
_PLAIN: Final = frozenset({"note", "backup", "forward", "print", "sound", "barline"})
"""All that a bar has which has nothing to be looked for."""


def with_long_rests(excerpt: Excerpt) -> Excerpt:
    """An excerpt of one part with each run of bars of rest as one bar, which says for how many it stands."""
    root = excerpt.tree()
    parts = root.findall("part")
    bars = parts[0].findall("measure")
    runs = list(_runs(excerpt, bars)) if len(parts) == 1 else []
    if len(runs) in {0, len(bars)}:
        return excerpt
    for first, end in runs:
        bars[first].extend(barline for bar in bars[first + 1 : end] for barline in bar.findall("barline"))
        for bar in bars[first + 1 : end]:
            drop(bar)
    place = {bar: index for index, (first, end) in enumerate(runs) for bar in range(first, end)}

    def moved(at: Position) -> Position:
        return Position(place[at.bar], at.onset)

    return replace(
        excerpt,
        xml=serialise(root),
        bars=tuple(replace(excerpt.bars[first], count=end - first) for first, end in runs),
        boxes=tuple(Box(moved(box.start), moved(box.end)) for box in excerpt.boxes),
        open_ends=tuple(replace(end, at=moved(end.at)) for end in excerpt.open_ends),
    )


def _runs(excerpt: Excerpt, bars: Sequence[etree._Element]) -> Iterator[tuple[int, int]]:
    """First bar and end of each run; any other bar is a run of its own."""
    edges = {edge for box in excerpt.boxes for edge in _edges(excerpt, box)}
    starts = [0]
    for bar, (before, here) in enumerate(pairwise(bars), start=1):
        goes_on = (
            bar not in edges
            and excerpt.bars[bar].length == excerpt.bars[bar - 1].length
            and _silent(before)
            and _silent(here)
            and _PLAIN.issuperset(child.tag for child in here)
            and not any(line.get("location") != "left" for line in before.iterchildren("barline"))
            and not any(line.get("location") == "left" for line in here.iterchildren("barline"))
        )
        if not goes_on:
            starts.append(bar)
    yield from pairwise([*starts, len(bars)])


def _edges(excerpt: Excerpt, box: Box) -> Iterator[int]:
    """The bars that a run may not go on into; a bar that a box begins or ends in the middle of stands alone."""
    yield from (box.start.bar, box.last_bar + 1)
    if box.start.onset:
        yield box.start.bar + 1
    if 0 < box.end.onset < excerpt.bars[box.end.bar].length:
        yield box.end.bar


def _silent(bar: etree._Element) -> bool:
    """Whether a bar has plain rests only, and whatever else it has before them."""
    notes = bar.findall("note")
    if not notes or bar.get("implicit") == "yes":
        return False
    behind = {child.tag for child in notes[0].itersiblings()}
    return _PLAIN.issuperset(behind) and all(
        note.find("rest") is not None
        and note.get("print-object") != "no"
        and _REST.issuperset(child.tag for child in note)
        for note in notes
    )
