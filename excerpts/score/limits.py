"""How much a score may hold: bounds far above all music, so that no file hangs or fills the machine.

The sizes of real scores: among the 650 of music21's corpus the largest has 10.9 MB, 373,000 tags and 3,000 bars over
all parts together with 400 elements in its fullest bar.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from fractions import Fraction
from math import lcm
from typing import Final

from lxml import etree

from excerpts.errors import ScoreError

SIZE_CAP: Final = 25_000_000
"""Largest score that is opened, in bytes, after unpacking. A whole opera act is about 20 MB."""

_MOST_TAGS: Final = 2_000_000
"""Notation programs write a tag in 14 bytes, so that a score of 25 MB has 1.8 million."""
_MOST_BYTES: Final = 350_000_000
_TAG_BYTES: Final = 130
_ATTRIBUTE_BYTES: Final = 240
"""What libxml2 needs for an element and for an attribute with its text (measured)."""
_ALWAYS_SMALL: Final = 7_000_000
"""Bytes that no tree of them is too large for: an element has four letters at least (`<a/>`), an attribute five."""

MOST_PARTS: Final = 500
MOST_BARS: Final = 20_000
_MOST_BARS_IN_ALL: Final = 120_000
_MOST_IN_A_BAR: Final = 100_000
"""Elements in one bar of one part; a cadenza in one bar may have some ten thousand."""

_SHORTEST_TAG: Final = 4
_PROLOGUE: Final = 500
"""Bytes at the start of a file, with its declarations."""

MOST_IN_A_CUT: Final = 400_000
"""Elements in the bars of one cut; a symphony movement of one part has about 200,000."""

LONGEST_TEXT: Final = 10_000
"""Characters of one text in the bars of a cut: words, a syllable, a mark."""

_LONGEST_DIVISION: Final = 10**40
"""Divisions into which all durations of a score together cut a quarter note; real ones need some thousand."""

_TURNING: Final = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\ufeff")
"""Signs that turn the reading direction round, so that a title reads as something that it is not."""

_LONGEST_VALUE: Final = re.compile(r"[0-9.]{1,40}")


def too_large(name: str) -> ScoreError:
    """The error for a score beyond the cap."""
    return ScoreError(
        f"the score is larger than {SIZE_CAP // 1_000_000} MB when opened.",
        where=name,
        hint="Export the movement, or the one part, by itself.",
    )


def check_bytes(data: bytes, name: str) -> None:
    """Refuse a document that would take too much memory as a tree, before it becomes one.

    Raises:
        ScoreError: It is too large, or has too many elements or attributes.
    """
    if len(data) > SIZE_CAP:
        raise too_large(name)
    if len(data) <= _ALWAYS_SMALL:
        return
    tags, attributes = data.count(b"<"), data.count(b"=")
    if tags > _MOST_TAGS or tags * _TAG_BYTES + attributes * _ATTRIBUTE_BYTES > _MOST_BYTES:
        raise ScoreError(
            f"the score holds more than can be opened ({tags:,} tags, {attributes:,} attributes).",
            where=name,
            hint="Export the movement, or the one part, by itself.",
        )


def check_counts(parts: int, bars: int, name: str, fullest: int = 0) -> None:
    """Refuse a score with more parts, bars in all, or bars in its `fullest` part than any has.

    Raises:
        ScoreError: There are too many.
    """
    for count, most, what in (
        (parts, MOST_PARTS, "parts"),
        (fullest, MOST_BARS, "bars in one part"),
        (bars, _MOST_BARS_IN_ALL, "bars in all its parts"),
    ):
        if count > most:
            raise ScoreError(
                f"the score has {count:,} {what}; no more than {most:,} are read.",
                where=name,
                hint="Export the movement, or the one part, by itself.",
            )


def check_tree(root: etree._Element, name: str) -> None:
    """Refuse a score with more parts or bars than any has.

    Raises:
        ScoreError: It is such a score; the message says where.
    """
    check_counts(_count(root, "count(part)"), 0, name)
    bars = [_count(part, "count(measure)") for part in root.iterchildren("part")]
    check_counts(len(bars), sum(bars), name, max(bars, default=0))


def check_bars(root: etree._Element, name: str, data: bytes) -> None:
    """Refuse a score with a bar that is too full.

    Args:
        root: The score.
        name: Its name for messages.
        data: The bytes of its document, which may show at once that no bar is too full; empty where its encoding
            does not write each letter of a tag as one byte.

    Raises:
        ScoreError: It has such a bar; the message says which.
    """
    if data and _bars_are_small(data):
        return
    for measure in root.xpath(f"part/measure[count(.//*) > {_MOST_IN_A_BAR}]"):
        raise ScoreError(
            f"bar {str(measure.get('number'))[:20]} has more than {_MOST_IN_A_BAR:,} elements in it.",
            where=name,
            hint="Something went wrong in it: export the score again.",
        )


def _bars_are_small(data: bytes) -> bool:
    """Whether no two bars begin so far apart that there is room for more elements than one may have."""
    if data.find(b"!", _PROLOGUE) >= 0 or data.find(b"?", _PROLOGUE) >= 0:
        return False  # a comment may have what looks like a bar in it
    at = 0
    while at + _SHORTEST_TAG * _MOST_IN_A_BAR < len(data):
        at = data.rfind(b"<measure ", at + 1, at + _SHORTEST_TAG * _MOST_IN_A_BAR)
        if at < 0:
            return False
    return True


def _count(element: etree._Element, path: str) -> int:
    return int(float(str(element.xpath(path))))


def check_divisions(attributes: Iterable[etree._Element], name: str) -> None:
    """Refuse a score whose divisions have too large a common multiple: exact time would be slow to count in it.

    Raises:
        ScoreError: It is such a score.
    """
    finest = 1
    divisions = (child for one in attributes for child in one.iterchildren("divisions"))
    for text in {(child.text or "").strip() for child in divisions}:
        if _LONGEST_VALUE.fullmatch(text) and text.count(".") < 2 and text != ".":
            value = Fraction(text)
            finest = lcm(finest, value.numerator or 1, value.denominator)
        if finest > _LONGEST_DIVISION:
            raise ScoreError(
                "the divisions of a quarter note change so often and so oddly that its time cannot be reckoned.",
                where=name,
                hint="Something went wrong in it: export the score again.",
            )


def check_cut(measures: list[etree._Element], where: str) -> None:
    """Refuse to cut bars that hold too much.

    Raises:
        ScoreError: They have too many elements, or a text that is too long.
    """
    count = 0
    for measure in measures:
        for element in measure.iter():
            count += 1
            if element.text is not None and len(element.text) > LONGEST_TEXT:
                raise ScoreError(
                    f"bar {str(measure.get('number'))[:20]} has a text of {len(element.text):,} characters.",
                    where=where,
                    hint="Something went wrong in it: export the score again.",
                )
    if count > MOST_IN_A_CUT:
        raise ScoreError(
            "these bars hold more than can be cut out at once.", where=where, hint="Name fewer bars."
        )


def shortened(text: str, longest: int = 300) -> str:
    """A text of a score as one line of a message: without invisible characters, and cut off where it is too long."""
    if not text.isprintable():
        text = "".join(char for char in text if char not in _TURNING and unicodedata.category(char) != "Cc")
    return text if len(text) <= longest else f"{text[: longest - 1]}…"
