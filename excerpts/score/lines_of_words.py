"""The lines that say how long words for playing hold, and the words that a line goes with."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from lxml import etree

from excerpts.musicxml.timeline import COUNTED
from excerpts.score.slice import staff_of

_LINES: Final = ("bracket", "dashes")


def words_of_line(holder: etree._Element) -> list[etree._Element]:
    """The words that a line goes with, by the direction that it starts in.

    They are those in it, else in the directions before it, else behind it, of the same staff and at the same time.
    """
    own = holder.findall("direction-type/words")
    return own or _words(holder, preceding=True) or _words(holder, preceding=False)


def lines_of_words(holder: etree._Element) -> list[etree._Element]:
    """The starts of the lines that go with the words of a direction: those whose `words_of_line` they are."""
    own = _starts(holder)
    if own:
        return own
    words = holder.findall("direction-type/words")
    for preceding in (False, True):
        for beside in _beside(holder, preceding=preceding):
            starts = _starts(beside)
            if starts:
                return starts if any(word in words_of_line(beside) for word in words) else []
    return []


def _words(holder: etree._Element, *, preceding: bool) -> list[etree._Element]:
    words: list[etree._Element] = []
    for beside in _beside(holder, preceding=preceding):
        if _starts(beside):
            return words if preceding else []  # the words in front of another line are that line's
        words += beside.findall("direction-type/words")
    return words


def _starts(holder: etree._Element) -> list[etree._Element]:
    return [
        line
        for line in holder.iterfind("direction-type/*")
        if line.tag in _LINES and line.get("type") == "start"
    ]


def _beside(holder: etree._Element, *, preceding: bool) -> Iterator[etree._Element]:
    """The directions of the same staff next to a direction, up to the first note; an `<offset>` moves one away."""
    for sibling in holder.itersiblings(preceding=preceding):
        if sibling.tag in COUNTED:
            return
        if (
            sibling.tag == "direction"
            and staff_of(sibling) == staff_of(holder)
            and sibling.findtext("offset") == holder.findtext("offset")
        ):
            yield sibling
