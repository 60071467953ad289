"""What the edges of a cut should look like: the spans and ties that it must have and those it leaves open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING

from tests.corpus.pairing import SpanPair, Spans, turns
from tests.corpus.reading import End, Note

if TYPE_CHECKING:
    from tests.corpus.compare import SourcePart

_BEGUN_AGAIN = {"slur": 2, "tuplet": 2, "wavy-line": 1, "extend": 2}
"""Spans on notes that are begun again, with how many notes they must cover inside."""
_NAMES = {Fraction(-2): "bb", Fraction(-1): "b", Fraction(0): "", Fraction(1): "#", Fraction(2): "##"}


def spans_of(spans: Spans, first: int) -> Counter[object]:
    """The pairs as values: kind, number, what it is, and where it begins and ends."""
    return Counter(_value(pair, first, pair.start.place, pair.stop.place) for pair in spans.pairs)


def _value(pair: SpanPair, first: int, begin: object, end: object) -> object:
    begin, end = _place(begin, first, pair.start), _place(end, first, pair.start)
    return pair.start.kind, pair.start.number, pair.start.detail, begin, end


def _place(place: object, first: int, like: End) -> object:
    """Bar, onset, and on notes also which note of the bar."""
    if isinstance(place, tuple):
        return place
    bar, onset, order = place.bar - first, place.onset, place.order  # type: ignore[attr-defined]
    return (bar, onset, order) if like.on_note else (bar, onset)


def sequence(source: SourcePart, first: int, last: int, end: End) -> list[Note]:
    """The notes of a voice in the slice in order of time, one for a chord; rests count under tuplets only."""
    notes = [
        note
        for bar in source.reading.bars[first : last + 1]
        for note in bar.notes
        if note.voice == end.voice
        and (end.voice or note.staff == end.staff)
        and not note.chord
        and (end.kind == "tuplet" or not note.rest)
    ]
    return sorted(notes, key=lambda n: (n.place.bar, n.place.onset, n.place.order))


def covered(source: SourcePart, first: int, last: int, pair: SpanPair) -> list[Note]:
    """The notes inside the slice under a span on notes that crosses an edge."""
    start_in, stop_in = pair.start.place.bar >= first, pair.stop.place.bar <= last
    if not start_in and not stop_in and pair.start.voice != pair.stop.voice:
        return []
    notes = sequence(source, first, last, pair.start if start_in else pair.stop)
    if start_in:
        notes = [n for n in notes if _key(n) >= _head(source, pair.start)]
    if stop_in:
        notes = [n for n in notes if _key(n) <= _head(source, pair.stop)]
    return notes


def _key(note: Note) -> tuple[int, Fraction, int]:
    return note.place.bar, note.place.onset, note.place.order


def _head(source: SourcePart, end: End) -> tuple[int, Fraction, int]:
    """The first note of the chord that an end stands on."""
    notes = source.reading.bars[end.place.bar].notes
    order = end.place.order
    while notes[order].chord and order:
        order -= 1
    return _key(notes[order])


def crossing(source: SourcePart, first: int, last: int) -> Iterable[SpanPair]:
    """The spans that cross an edge of the slice."""
    for pair in source.spans.pairs:
        a, b = pair.start.place.bar, pair.stop.place.bar
        if a <= last and b >= first and not (first <= a and b <= last) and a <= b:
            yield pair


def expected_spans(source: SourcePart, first: int, last: int) -> Counter[object]:
    """The pairs that the excerpt must have."""
    found: Counter[object] = Counter()
    for pair in source.spans.pairs:
        if first <= pair.start.place.bar <= last and first <= pair.stop.place.bar <= last:
            found[_value(pair, first, pair.start.place, pair.stop.place)] += 1
    for lone in source.spans.lone:
        if lone.kind == "wavy-line" and lone.role == "start" and first <= lone.place.bar <= last:
            found[_value(SpanPair(lone, lone), first, lone.place, lone.place)] += 1
    for pair in crossing(source, first, last):
        ends = _on_notes if pair.start.on_note else _between_staves
        begin, end = ends(source, first, last, pair)
        if begin is not None and end is not None:
            found[_value(pair, first, begin, end)] += 1
    return found


_Ends = tuple[object, object] | tuple[None, None]


def _on_notes(source: SourcePart, first: int, last: int, pair: SpanPair) -> _Ends:
    """Where a span on notes that crosses an edge is begun and ended inside; nowhere where it goes."""
    notes = covered(source, first, last, pair)
    if len(notes) < _BEGUN_AGAIN.get(pair.start.kind, len(notes) + 1):
        return None, None
    begin = pair.start.place if pair.start.place.bar >= first else notes[0].place
    end = pair.stop.place if pair.stop.place.bar <= last else notes[-1].place
    return begin, end


def _between_staves(source: SourcePart, first: int, last: int, pair: SpanPair) -> _Ends:
    """The same for a hairpin, octave sign or line: from the first beat, to the last barline."""
    begin: tuple[int, Fraction] = (0, Fraction(0))
    end = (last - first, source.reading.bars[last].length)
    if pair.start.place.bar >= first:
        begin = (pair.start.place.bar - first, pair.start.place.onset)
    if pair.stop.place.bar <= last:
        end = (pair.stop.place.bar - first, pair.stop.place.onset)
    return (begin, end) if begin < end else (None, None)


def expected_ties(source: SourcePart, first: int, last: int) -> Counter[object]:
    """The ties that the excerpt must have: bar and note where each begins and ends."""
    return Counter(
        ((a.place.bar - first, a.place.order), (b.place.bar - first, b.place.order))
        for a, b in source.ties.pairs
        if first <= a.place.bar <= last and first <= b.place.bar <= last
    )


def open_ends_of(source: SourcePart, first: int, last: int) -> Counter[object]:
    """The ties and slurs that the cut must name as open."""
    found: Counter[object] = Counter()
    for a, b in source.ties.pairs:
        if a.place.bar < first <= b.place.bar <= last:
            found[_open("tie", "start", b, first)] += 1
        if first <= a.place.bar <= last < b.place.bar:
            found[_open("tie", "end", a, first)] += 1
    for edge, note in _ties_at_repeats(source, first, last):
        found[_open("tie", edge, note, first)] += 1
    for pair in crossing(source, first, last):
        notes = covered(source, first, last, pair)
        if pair.start.kind == "slur" and len(notes) == 1:
            if pair.start.place.bar < first:
                found[_open("slur", "start", notes[0], first)] += 1
            if pair.stop.place.bar > last:
                found[_open("slur", "end", notes[0], first)] += 1
    return found


def _ties_at_repeats(source: SourcePart, first: int, last: int) -> Iterable[tuple[str, Note]]:
    """Ties without a partner that come from, or lead, elsewhere in the score: over a repeat or an ending."""
    for note in source.ties.lone_stops:
        bar = source.reading.bars[note.place.bar]
        if first <= note.place.bar <= last and not note.place.onset and turns(bar, "start", "forward"):
            yield "start", note
    for note in source.ties.lone_starts:
        bar = source.reading.bars[note.place.bar]
        closes = turns(bar, "stop", "discontinue", "backward")
        if first <= note.place.bar <= last and note.end == bar.length and closes:
            yield "end", note


def _open(kind: str, edge: str, note: Note, first: int) -> object:
    return kind, edge, note.place.bar - first, note.place.onset, _name(note)


def _name(note: Note) -> str:
    if note.pitch is None:
        return ""
    inside = {child[0]: child[2] for child in note.pitch[3]}
    alter = Fraction(inside.get("alter") or 0)
    return f"{inside['step']}{_NAMES.get(alter, f'({alter})')}{inside['octave']}"
