"""Things that span notes or bars: which start belongs to which stop, over the whole part.

A cut may only keep what it has both ends of, so starts and stops are paired before anything is cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final
from weakref import WeakKeyDictionary

from lxml import etree

from excerpts.score.bars import Bars
from excerpts.score.slice import staff_of, voice_of
from excerpts.score.timeline import FIRST_DIVISIONS, divisions_in, order_in_time

NOTE_SPANS: Final = (
    "slur", "tuplet", "glissando", "slide", "wavy-line", "hammer-on", "pull-off", "tremolo", "extend",
)  # fmt: skip
"""Spans whose ends stand on notes: in `<notations>`, and lines behind syllables (ties are paired by pitch instead)."""

DIRECTION_SPANS: Final = ("wedge", "octave-shift", "pedal", "dashes", "bracket", "principal-voice")
"""Spans whose ends stand in a `<direction-type>`."""

_STARTS: Final = {"start", "crescendo", "diminuendo", "up", "down", "sostenuto", "resume"}
_MIDDLES: Final = {"continue", "change"}
_FORGOTTEN_AFTER: Final = 2
"""Bars after which a start that was overtaken by another of its number is taken for one without an end."""


@dataclass(frozen=True, slots=True, eq=False)
class SpanEnd:
    """One end of a span, or a point in the middle of it ("continue", "change").

    Attributes:
        element: The element that marks it ("slur", "wedge" …).
        holder: The `<note>` or `<direction>` that it stands in.
        bar: Index of its measure, from 0.
        voice: Voice of the holder, "" where it has none.
        staff: Staff of the holder, "1" where it has none.
    """

    element: etree._Element
    holder: etree._Element
    bar: int
    voice: str
    staff: str

    @property
    def kind(self) -> str:
        """Name of the element."""
        return str(self.element.tag)

    @property
    def is_middle(self) -> bool:
        """Whether it is a point in the middle."""
        return self.element.get("type") in _MIDDLES

    @property
    def number(self) -> str:
        """What tells spans of one kind apart: their number, for the lines behind syllables that of the verse."""
        numbered = self.element if self.element.tag != "extend" else self.element.getparent()
        return (numbered.get("number") if numbered is not None else None) or "1"


@dataclass(frozen=True, slots=True)
class Pairing:
    """The spans of a part.

    Attributes:
        pairs: Start and stop of each; the stop is a point in the middle where the source has no other.
        lone: Ends, and points in the middle, that have no partner in the source.
        middles: Points in the middle with the start of the span that they belong to.
    """

    pairs: tuple[tuple[SpanEnd, SpanEnd], ...]
    lone: tuple[SpanEnd, ...]
    middles: tuple[tuple[SpanEnd, SpanEnd], ...] = ()


_KNOWN: WeakKeyDictionary[Bars, tuple[int, Pairing]] = WeakKeyDictionary()
"""What was paired already, with how many repairs the bars had had then: a repair may take an end out."""


def pair_spans(bars: Bars) -> Pairing:
    """Pair all spans of a part, in order of time."""
    known = _KNOWN.get(bars)
    if known is not None and known[0] == len(bars.repairs):
        return known[1]
    pairer = _Pairer()
    for end in _ends(bars):
        pairer.take(end)
    pairing = pairer.result()
    _KNOWN[bars] = (len(bars.repairs), pairing)
    return pairing


def _ends(bars: Bars) -> Iterator[SpanEnd]:
    divisions = FIRST_DIVISIONS
    wanted = (*NOTE_SPANS, *DIRECTION_SPANS)
    for index, measure in enumerate(bars.measures):
        found = [
            SpanEnd(element, holder, index, voice_of(holder), staff_of(holder))
            for element in measure.iter(*wanted)
            if (holder := _holder(element, measure)) is not None
        ]
        if _may_be_out_of_order(found, measure):
            order = order_in_time(measure, divisions)
            found.sort(key=lambda end: order[end.holder])
        yield from found
        for attributes in measure.iterfind("attributes"):
            divisions = divisions_in(attributes) or divisions


def _holder(element: etree._Element, measure: etree._Element) -> etree._Element | None:
    """The note or direction that the element marks an end of a span in; None where it marks none."""
    if element.get("type") is None:
        return None
    if element.tag == "tremolo" and element.get("type") not in ("start", "stop"):
        return None
    holder = element
    while (parent := holder.getparent()) is not None and parent is not measure:
        holder = parent
    return holder if holder.tag in ("note", "direction") else None


def _may_be_out_of_order(ends: list[SpanEnd], measure: etree._Element) -> bool:
    """Whether it matters which comes first, and the order in the file may not be the order in time."""
    keys = [(end.kind, end.number) for end in ends]
    if len(set(keys)) == len(keys):
        return False
    return measure.find("backup") is not None or any(end.holder.find("offset") is not None for end in ends)


class _Pairer:
    """Starts wait here for their stops."""

    def __init__(self) -> None:
        self._open: dict[tuple[str, str], list[SpanEnd]] = {}
        self._pairs: list[tuple[SpanEnd, SpanEnd]] = []
        self._lone: list[SpanEnd] = []
        self._middles: list[tuple[SpanEnd, SpanEnd]] = []

    def take(self, end: SpanEnd) -> None:
        waiting = self._open.setdefault((end.kind, end.number), [])
        role = end.element.get("type")
        if role in _STARTS:
            waiting.append(end)
            return
        partner = self._partner(waiting, end)
        if partner is None:
            self._lone.append(end)
        elif end.is_middle:
            self._middles.append((end, partner))
        else:
            self._close(waiting, partner, end)

    def _close(self, waiting: list[SpanEnd], start: SpanEnd, stop: SpanEnd) -> None:
        waiting.remove(start)
        self._pairs.append((start, stop))
        limit = start.bar - _FORGOTTEN_AFTER
        for older in [w for w in waiting if w.bar < limit and w.voice == start.voice]:
            waiting.remove(older)
            self._lone.append(older)

    @staticmethod
    def _partner(waiting: list[SpanEnd], stop: SpanEnd) -> SpanEnd | None:
        """The latest start of the same voice and staff, else of the voice, else of the staff, else of all.

        A note may end one slur and begin the next of the same number, in either order in the file: what it
        begins itself it does not end. Only the wavy line of a trill may stand over a single note.
        """
        found, best = None, -1
        for start in reversed(waiting):
            rank = 2 * (start.voice == stop.voice) + (start.staff == stop.staff)
            if start.holder is stop.holder:
                rank = -1 if stop.kind != "wavy-line" else 0
            if rank > best:
                found, best = start, rank
        return found

    def result(self) -> Pairing:
        lone = self._lone + [start for waiting in self._open.values() for start in waiting]
        last = {start: middle for middle, start in self._middles}
        # What goes on at a point and never ends, ends at the last such point that the source tells.
        ended = [(end, last.pop(end)) for end in lone if end in last]
        stops = {stop for _, stop in ended}
        return Pairing(
            (*self._pairs, *ended),
            tuple(end for end in lone if end not in {start for start, _ in ended}),
            tuple(pair for pair in self._middles if pair[0] not in stops),
        )
