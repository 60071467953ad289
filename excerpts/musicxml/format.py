"""Facts of the MusicXML 4.0 format that more than one stage needs: tables, and writing a tree as bytes.

Source of names and orders: W3C MusicXML 4.0, https://www.w3.org/2021/06/musicxml40/ (from memory, checked
against the schema in the tests).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from copy import deepcopy
from fractions import Fraction
from functools import lru_cache
from typing import Final

from lxml import etree

VERSION: Final = "4.0"

SOFTWARE: Final = "Excerpts"
"""What `<encoding><software>` says of files written here; without a version, so that it never changes bytes."""

NOTE_TYPES: Final[dict[str, Fraction]] = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
"""Written length of each `<type>` (and `<beat-unit>`) in quarter notes, without dots."""

ATTRIBUTES_ORDER: Final = (
    "footnote", "level", "divisions", "key", "time", "staves", "part-symbol", "instruments", "clef",
    "staff-details", "transpose", "for-part", "directive", "measure-style",
)  # fmt: skip
"""Order of the children of `<attributes>`; see `attributes_rank`."""

NOTE_ORDER: Final = (
    "grace", "cue", "chord", "pitch", "unpitched", "rest", "duration", "tie", "instrument", "footnote",
    "level", "voice", "type", "dot", "accidental", "time-modification", "stem", "notehead",
    "notehead-text", "staff", "beam", "notations", "lyric", "play", "listen",
)  # fmt: skip
"""Order of the children of `<note>`."""

_OF_THE_PAGE: Final = (
    "id", "default-x", "default-y", "relative-x", "relative-y", "bezier-x", "bezier-y", "bezier-x2",
    "bezier-y2", "bezier-offset", "bezier-offset2",
)  # fmt: skip

_DECIMAL: Final = re.compile(r"[+-]?(?:[0-9]{1,18}(?:\.[0-9]{0,18})?|\.[0-9]{1,18})")
"""A number as `xs:decimal` writes it; longer ones mean nothing in music."""

_LONGEST: Final = 40
"""Characters after which no text is such a number, however it begins."""

_MOST_BEATS: Final = 1000
_SHORTEST_BEAT: Final = 1024
_LONGEST_METRE: Final = 50
_MOST_METRES: Final = 10
"""A metre counts in 1024th notes at the least; characters of one number of it; how many are added up (3/8 + 2/4)."""


def number_in(text: str | None) -> Fraction | None:
    """The decimal number in `text`, exact; None when it holds none."""
    return _number(text.strip()[:_LONGEST]) if text else None


@lru_cache(maxsize=1024)
def _number(text: str) -> Fraction | None:
    match = _DECIMAL.fullmatch(text)
    return None if match is None else Fraction(match.group())


def is_cue(note: etree._Element) -> bool:
    """Whether a `<note>` is a cue: printed small, for another player to play.

    W3C MusicXML 4.0: `<cue>`, or a note value of cue size; "cue" is the usual size of a grace note, whose cue is
    of "grace-cue" size.
    """
    if note.find("cue") is not None:
        return True
    value = note.find("type")
    size = None if value is None else value.get("size")
    return size == "grace-cue" or (size == "cue" and note.find("grace") is None)


def dotted(length: Fraction, dots: int) -> Fraction:
    """Length in quarter notes of a note of undotted `length` with `dots` dots."""
    return length * (2 - Fraction(1, 2**dots))


def written_length(note: etree._Element) -> Fraction | None:
    """Length of a note by its type, dots and tuplet ratio, in quarter notes; None where no type is given."""
    base = NOTE_TYPES.get((note.findtext("type") or "").strip())
    if base is None:
        return None
    length = dotted(base, len(note.findall("dot")))
    actual = number_in(note.findtext("time-modification/actual-notes"))
    normal = number_in(note.findtext("time-modification/normal-notes"))
    return length * normal / actual if actual and normal and actual > 0 and normal > 0 else length


SINGLE_NOTES: Final = {
    dotted(length, dots): (name, dots) for dots in (2, 1, 0) for name, length in NOTE_TYPES.items()
}
"""Type and dots of each single note with at most two dots, by its length in quarter notes."""


def time_signature(time: etree._Element) -> tuple[tuple[tuple[int, ...], int], ...]:
    """What a `<time>` says, pair by pair: ((3, 2), 8) for 3+2/8; nothing for senza misura, or see `pairs_of`."""
    if time.find("senza-misura") is not None:
        return ()
    beats, units = time.findall("beats"), time.findall("beat-type")
    return pairs_of([(a.text or "", b.text or "") for a, b in zip(beats, units, strict=False)])


def pairs_of(printed: Iterable[tuple[str, str]]) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Beats and beat types as printed ("3+2", "8") as numbers, ((3, 2), 8).

    Nothing for a signature that makes no sense (a beat type of 0, more than a thousand beats to a bar).
    """
    pairs: list[tuple[tuple[int, ...], int]] = []
    for beats, unit in printed:
        if max(len(beats), len(unit)) > _LONGEST_METRE or len(pairs) == _MOST_METRES:
            return ()
        try:
            groups = tuple(int(group) for group in beats.split("+"))
            pairs.append((groups, int(unit)))
        except ValueError:
            return ()
        if min(groups) < 1 or max(groups) > _MOST_BEATS or not 1 <= pairs[-1][1] <= _SHORTEST_BEAT:
            return ()
    return tuple(pairs)


def parse_own(data: bytes, *, blanks: bool = True) -> etree._Element:
    """Parse MusicXML that this package wrote itself.

    Files from outside go through `excerpts.score` instead, which checks them first.

    Args:
        data: The document.
        blanks: Whether to keep the white space that only indents it.
    """
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_blank_text=not blanks,
    )
    return etree.fromstring(data, parser)


def serialise(root: etree._Element) -> bytes:
    """Write a tree as UTF-8 MusicXML bytes: indented by two spaces, the same tree always the same bytes."""
    etree.indent(root, space="  ")
    body: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=False)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body + b"\n"


def drop(element: etree._Element) -> None:
    """Take an element out of the one that holds it."""
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def unplaced(element: etree._Element) -> etree._Element:
    """A copy without ids and without its place and shape on the old page."""
    copy = deepcopy(element)
    copy.tail = None
    for each in copy.iter():
        for name in _OF_THE_PAGE:
            each.attrib.pop(name, None)
    return copy


def attributes_rank(name: str) -> int:
    """Where in the order of `<attributes>` a child belongs; what the schema does not know there comes last."""
    return ATTRIBUTES_ORDER.index(name) if name in ATTRIBUTES_ORDER else len(ATTRIBUTES_ORDER)


def insert_in_order(parent: etree._Element, child: etree._Element, order: tuple[str, ...]) -> None:
    """Insert `child` where the schema's sequence `order` wants it, after others of its own name.

    What stands in a source and not in the schema comes last.
    """
    rank = order.index(str(child.tag)) if child.tag in order else len(order)
    for index, other in enumerate(parent):
        if isinstance(other.tag, str) and other.tag in order and order.index(other.tag) > rank:
            parent.insert(index, child)
            return
    parent.append(child)


def child_of_note(note: etree._Element, name: str) -> etree._Element:
    """The (first) child of a note by that name, made in its right place where there is none."""
    child = note.find(name)
    if child is None:
        child = etree.Element(name)
        insert_in_order(note, child, NOTE_ORDER)
    return child
