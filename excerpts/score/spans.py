"""Things that span notes or bars: which start belongs to which stop, over the whole part.

A cut may only keep what it has both ends of, so starts and stops are paired before anything is cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.score.bars import Bars
from excerpts.score.timeline import FIRST_DIVISIONS, divisions_in, walk

NOTE_SPANS: Final = ("slur", "tuplet", "glissando", "slide", "wavy-line", "hammer-on", "pull-off", "tremolo")
"""Spans whose ends stand in the `<notations>` of notes (ties are paired by pitch instead)."""

DIRECTION_SPANS: Final = ("wedge", "octave-shift", "pedal", "dashes", "bracket", "principal-voice")
"""Spans whose ends stand in a `<direction-type>`."""

_STARTS: Final = {"start", "crescendo", "diminuendo", "up", "down", "sostenuto", "resume"}
_FORGOTTEN_AFTER: Final = 2
"""Bars after which a start that was overtaken by another of its number is taken for one without an end."""


@dataclass(frozen=True, slots=True)
class SpanEnd:
    """One end of a span.

    Attributes:
        element: The element that marks it ("slur", "wedge" …).
        holder: The `<note>` or `<direction>` that it stands in.
        bar: Index of its measure, from 0.
        is_start: A start, else a stop.
        voice: Voice of the holder, "" where it has none.
        staff: Staff of the holder, "1" where it has none.
    """

    element: etree._Element
    holder: etree._Element
    bar: int
    is_start: bool
    voice: str
    staff: str

    @property
    def kind(self) -> str:
        """Name of the element."""
        return str(self.element.tag)


@dataclass(frozen=True, slots=True)
class Pairing:
    """The spans of a part: pairs of start and stop, and the ends that have no partner in the source."""

    pairs: tuple[tuple[SpanEnd, SpanEnd], ...]
    lone: tuple[SpanEnd, ...]


def pair_spans(bars: Bars) -> Pairing:
    """Pair all spans of a part, in order of time."""
    pairer = _Pairer()
    for end in _ends(bars):
        pairer.take(end)
    return pairer.result()


def _ends(bars: Bars) -> Iterator[SpanEnd]:
    divisions = FIRST_DIVISIONS
    wanted = (*NOTE_SPANS, *DIRECTION_SPANS)
    for index, measure in enumerate(bars.measures):
        found = [element for element in measure.iter(*wanted) if _is_end(element)]
        if found:
            yield from _in_time(found, measure, index, divisions)
        for attributes in measure.iterfind("attributes"):
            divisions = divisions_in(attributes) or divisions


def _is_end(element: etree._Element) -> bool:
    if element.tag == "tremolo" and element.get("type") not in ("start", "stop"):
        return False
    parent = element.getparent()
    return (
        parent is not None
        and parent.tag != "barline"
        and element.get("type") not in (None, "continue", "change")
    )


def _in_time(
    found: list[etree._Element], measure: etree._Element, index: int, divisions: Fraction
) -> Iterator[SpanEnd]:
    """The ends in one measure by onset; document order where onsets are equal."""
    holders = [_holder(element, measure) for element in found]
    ends = [_end(element, holder, index) for element, holder in zip(found, holders, strict=True)]
    if measure.find("backup") is not None:
        onsets = {moment.element: moment.onset for moment in walk(measure, divisions).moments}
        ends.sort(key=lambda end: onsets[end.holder])
    yield from ends


def _holder(element: etree._Element, measure: etree._Element) -> etree._Element:
    holder = element
    while (parent := holder.getparent()) is not None and parent is not measure:
        holder = parent
    return holder


def _end(element: etree._Element, holder: etree._Element, index: int) -> SpanEnd:
    return SpanEnd(
        element,
        holder,
        index,
        element.get("type") in _STARTS,
        (holder.findtext("voice") or "").strip(),
        (holder.findtext("staff") or "1").strip(),
    )


class _Pairer:
    """Starts wait here for their stops."""

    def __init__(self) -> None:
        self._open: dict[tuple[str, str], list[SpanEnd]] = {}
        self._pairs: list[tuple[SpanEnd, SpanEnd]] = []
        self._lone: list[SpanEnd] = []

    def take(self, end: SpanEnd) -> None:
        key = (end.kind, end.element.get("number") or "1")
        waiting = self._open.setdefault(key, [])
        if end.is_start:
            waiting.append(end)
            return
        partner = self._partner(waiting, end)
        if partner is None:
            self._lone.append(end)
            return
        waiting.remove(partner)
        self._pairs.append((partner, end))
        for older in [
            w for w in waiting if w.bar < partner.bar - _FORGOTTEN_AFTER and w.voice == partner.voice
        ]:
            waiting.remove(older)
            self._lone.append(older)

    @staticmethod
    def _partner(waiting: list[SpanEnd], stop: SpanEnd) -> SpanEnd | None:
        """The latest start of the same voice, else of the same staff, else the latest of all.

        A note may end one slur and begin the next of the same number, in either order in the file: what it
        begins itself it does not end.
        """
        waiting = [start for start in waiting if start.holder is not stop.holder]
        for same in (
            lambda start: start.voice == stop.voice and start.staff == stop.staff,
            lambda start: start.voice == stop.voice,
            lambda start: start.staff == stop.staff,
            lambda start: True,
        ):
            for start in reversed(waiting):
                if same(start):
                    return start
        return None

    def result(self) -> Pairing:
        left = [start for waiting in self._open.values() for start in waiting]
        return Pairing(tuple(self._pairs), (*self._lone, *left))
