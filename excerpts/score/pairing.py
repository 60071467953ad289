"""Things that span notes or bars: which start belongs to which stop, over the whole part.

A cut may only keep what it has both ends of, so starts and stops are paired before anything is cut.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, takewhile
from typing import Final, NamedTuple

from lxml import etree

from excerpts.musicxml.format import number_in
from excerpts.musicxml.timeline import COUNTED
from excerpts.score.bars import Bars, sparse
from excerpts.score.slice import staff_of, voice_of

NOTE_SPANS: Final = (
    "slur", "tuplet", "glissando", "slide", "wavy-line", "hammer-on", "pull-off", "tremolo", "extend",
)  # fmt: skip
"""Spans whose ends stand on notes: in `<notations>`, and lines behind syllables (ties are paired by pitch instead)."""

DIRECTION_SPANS: Final = ("wedge", "octave-shift", "pedal", "dashes", "bracket", "principal-voice")
"""Spans whose ends stand in a `<direction-type>`."""

SPANS: Final = (*NOTE_SPANS, *DIRECTION_SPANS)

_COUNTED: Final = ("slur", "tuplet")
"""Spans of which a part may have thousands."""

_STARTS: Final = {"start", "crescendo", "diminuendo", "up", "down", "sostenuto", "resume"}
_MIDDLES: Final = {"continue", "change"}
_FORGOTTEN_AFTER: Final = 2
"""Bars after which a start that was overtaken by another of its number is taken for one without an end."""


class SpanEnd(NamedTuple):
    """One end of a span, or a point in the middle of it ("continue", "change").

    Attributes:
        element: The element that marks it ("slur", "wedge" …).
        holder: The `<note>` or `<direction>` that it stands in.
        bar: Index of its measure, from 0.
        kind: Name of the element.
        number: The number that tells spans of one kind apart; for the lines behind syllables, that of the verse.
    """

    element: etree._Element
    holder: etree._Element
    bar: int
    kind: str
    number: str

    @property
    def voice(self) -> str:
        """Voice of the holder, "" where it has none."""
        return voice_of(self.holder)

    @property
    def staff(self) -> str:
        """Staff of the holder, "1" where it has none."""
        return staff_of(self.holder)

    @property
    def is_middle(self) -> bool:
        """Whether it is a point in the middle."""
        return self.element.get("type") in _MIDDLES


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


def pair_spans(bars: Bars, first: int = 0, last: int | None = None) -> Pairing:
    """Pair the spans of a part, in order of time: at least those that reach into measures `first` to `last`."""
    if last is None:
        return bars.once(_all)
    closed = bars.once(_closed)
    behind = closed[bisect_right(closed, last) :]
    return _paired(
        _ends(bars, SPANS, closed[bisect_right(closed, first) - 1], behind[0] - 1 if behind else None)
    )


def _all(bars: Bars) -> Pairing:
    return _paired(_ends(bars, SPANS))


def _paired(ends: Iterable[SpanEnd]) -> Pairing:
    pairer = _Pairer()
    for end in ends:
        pairer.take(end)
    return pairer.result()


def _closed(bars: Bars) -> list[int]:
    """Measures at whose start no span is open, so that what stands before and behind can be paired by itself.

    To pair the slurs and tuplets of a long part takes as long as parsing it, so theirs are only counted: which start
    belongs to which stop plays no part in it. One that never ends leaves all measures behind it open.
    """
    others = tuple(kind for kind in SPANS if kind not in _COUNTED)
    under = {bar for a, b in _paired(_ends(bars, others)).pairs for bar in range(a.bar + 1, b.bar + 1)}
    closed, before, waiting = [0], 0, 0
    begun = Counter[tuple[object, str]]()
    table = bars.once(sparse)
    for _, index, element in sorted(chain.from_iterable(table[kind] for kind in _COUNTED)):
        role = element.get("type")
        if role is None:
            continue
        if index != before and not waiting and index not in under:
            closed.append(index)
        before, key = index, (element.tag, element.get("number") or "1")
        step = 1 if role in _STARTS else -1 if begun[key] and role not in _MIDDLES else 0
        begun[key] += step
        waiting += step
    return closed


def _ends(bars: Bars, kinds: tuple[str, ...], first: int = 0, last: int | None = None) -> Iterator[SpanEnd]:
    """The ends in measures `first` to `last`, in order of time."""
    ends: list[SpanEnd] = []
    for index, holder, element in bars.every(*kinds, first=first, last=last):
        kind, role = str(element.tag), element.get("type")
        if role is None or (kind == "tremolo" and role not in ("start", "stop")):
            continue
        if holder.tag not in ("note", "direction"):
            continue
        if ends and ends[-1].bar != index:
            yield from _in_time(ends, bars)
            ends = []
        numbered = element if kind != "extend" else element.getparent()
        number = None if numbered is None else numbered.get("number")
        ends.append(SpanEnd(element, holder, index, kind, number or "1"))
    yield from _in_time(ends, bars)


def _in_time(ends: list[SpanEnd], bars: Bars) -> list[SpanEnd]:
    """The ends of one bar in order of time, or in that of the file where both pair them alike."""
    if len({(end.kind, end.number) for end in ends}) == len(ends) or not _may_be_out_of_order(ends):
        return ends
    onsets = {moment.element: moment.onset for moment in bars.time(ends[0].bar).moments}
    return sorted(ends, key=lambda end: onsets[end.holder])


def _may_be_out_of_order(ends: list[SpanEnd]) -> bool:
    """Whether the order of ends of one bar in the file may not be their order in time."""
    first, last = ends[0].holder, ends[-1].holder
    backup = next(first.itersiblings("backup"), None) if first is not last else None
    if backup is not None and any(sibling is last for sibling in backup.itersiblings()):
        return True
    return any(end.holder.tag == "direction" and end.holder.find("offset") is not None for end in ends)


class _Pairer:
    """Starts wait here for their stops.

    A hairpin that is stopped where it starts, or from another staff, waits on: its own stop may come yet, and the
    first was the second stop of another hairpin, which some programs write.
    """

    def __init__(self) -> None:
        self._open: dict[tuple[str, str], list[SpanEnd]] = {}
        self._pairs: list[tuple[SpanEnd, SpanEnd]] = []
        self._lone: list[SpanEnd] = []
        self._middles: list[tuple[SpanEnd, SpanEnd]] = []
        self._voices: dict[etree._Element, str] = {}
        self._for_now: dict[SpanEnd, SpanEnd] = {}

    def take(self, end: SpanEnd) -> None:
        waiting = self._open.setdefault((end.kind, end.number), [])
        role = end.element.get("type")
        if role in _STARTS:
            if waiting:
                self._settle(waiting, end)
            waiting.append(end)
            return
        partner = _partner(waiting, end)
        if partner is None:
            self._lone.append(end)
        elif end.is_middle:
            self._middles.append((end, partner))
        elif end.kind != "wedge" or _is_its_own(partner, end):
            self._close(waiting, partner, end)
        elif partner in self._for_now:
            self._lone.append(end)
        else:
            self._for_now[partner] = end

    def _settle(self, waiting: list[SpanEnd], following: SpanEnd) -> None:
        """What was stopped for now on a staff stays so when the next begins there."""
        for start in [s for s in waiting if s in self._for_now and s.staff == following.staff]:
            waiting.remove(start)
            self._pairs.append((start, self._for_now.pop(start)))

    def _close(self, waiting: list[SpanEnd], start: SpanEnd, stop: SpanEnd) -> None:
        waiting.remove(start)
        self._pairs.append((start, stop))
        if start in self._for_now:
            self._lone.append(self._for_now.pop(start))
        limit = start.bar - _FORGOTTEN_AFTER
        if not waiting or not any(older.bar < limit for older in waiting):
            return
        voice = self._voice(start)
        for older in [w for w in waiting if w.bar < limit and self._voice(w) == voice]:
            waiting.remove(older)
            if older in self._for_now:
                self._pairs.append((older, self._for_now.pop(older)))
            else:
                self._lone.append(older)

    def _voice(self, end: SpanEnd) -> str:
        """The voice of an end; starts that never end are asked for it again and again."""
        voice = self._voices.get(end.holder)
        if voice is None:
            voice = self._voices[end.holder] = end.voice
        return voice

    def result(self) -> Pairing:
        left = [start for waiting in self._open.values() for start in waiting]
        lone = self._lone + [start for start in left if start not in self._for_now]
        last = {start: middle for middle, start in self._middles}
        # What goes on at a point and never ends, ends at the last such point that the source tells.
        ended = [(end, last.pop(end)) for end in lone if end in last]
        starts, stops = {start for start, _ in ended}, {stop for _, stop in ended}
        return Pairing(
            (*self._pairs, *self._for_now.items(), *ended),
            tuple(end for end in lone if end not in starts),
            tuple(pair for pair in self._middles if pair[0] not in stops),
        )


def _is_its_own(start: SpanEnd, stop: SpanEnd) -> bool:
    """Whether a hairpin is surely stopped here: on its staff, and not at the point where it starts."""
    if start.staff != stop.staff:
        return False
    later = takewhile(lambda child: child is not stop.holder, start.holder.itersiblings())
    if start.bar != stop.bar or any(child.tag in COUNTED for child in later):
        return True
    offsets = (number_in(end.holder.findtext("offset")) or 0 for end in (start, stop))
    return next(offsets) != next(offsets)


def _is_one_voice(first: SpanEnd, second: SpanEnd) -> bool:
    """Whether two ends stand in one voice; where the source names no voices, on one staff."""
    voice = first.voice
    return voice == second.voice and bool(voice or first.staff == second.staff)


def _partner(waiting: list[SpanEnd], stop: SpanEnd) -> SpanEnd | None:
    """The latest start of the same voice and staff, else of the voice, else of the staff, else of all.

    A note may end one slur and begin the next of the same number, in either order in the file: what it
    begins itself it does not end. Only the wavy line of a trill may stand over a single note, and a tuplet,
    which belongs to one voice, whatever another in step with it has under the same number.
    """
    if stop.kind == "tuplet":
        own = [start for start in waiting if _is_one_voice(start, stop)]
        return own[-1] if own else None
    if len(waiting) == 1 and waiting[0].holder is not stop.holder:
        return waiting[0]
    nearest, best = None, -1
    voice, staff = stop.voice, stop.staff
    for start in reversed(waiting):
        if start.holder is stop.holder:
            rank = -1 if stop.kind != "wavy-line" else 0
        else:
            rank = 2 * (start.voice == voice) + (start.staff == staff)
        if rank > best:
            nearest, best = start, rank
        if rank == 3:
            break
    return nearest
