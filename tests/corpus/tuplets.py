"""The numbers of tuplets in a cut: the first group of each ratio has one, and what is new is a whole tuplet."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from tests.corpus.edges import spans_of
from tests.corpus.pairing import SpanPair, Spans
from tests.corpus.reading import Note, Reading

_VALUES = {Fraction(2) ** power: power for power in range(-8, 4)}


def ratio(note: Note) -> Fraction | None:
    """Notes in the time of one, by the time modification; None outside tuplets."""
    told = next((child for child in note.content if child[0] == "time-modification"), None)
    if told is None or note.grace or note.chord or _is_hidden(note):
        return None
    inside = {child[0]: child[2] for child in told[3]}
    found = Fraction(inside["actual-notes"]) / Fraction(inside["normal-notes"])
    return None if found == 1 else found


def _is_hidden(note: Note) -> bool:
    return any(name == "note" and ("print-object", "no") in head for name, head, _, _ in note.content)


def _actual(note: Note) -> int:
    told = next(child for child in note.content if child[0] == "time-modification")
    return int(next(child[2] for child in told[3] if child[0] == "actual-notes"))


def _shows(pair: SpanPair) -> bool:
    return ("show-number", "none") not in pair.start.element[1]


def _tremolos(read: Reading) -> set[tuple[int, int]]:
    """Notes of tremolos between two pitches, whose values are halved and no tuplets."""
    return {
        (bar, end.place.order)
        for bar, found in enumerate(read.bars)
        for end in found.ends
        if end.kind == "tremolo"
    }


def _is_plain_alone(note: Note) -> bool:
    """A dotted note that is a whole tuplet by itself, and as long as a plain note."""
    return any(child[0] == "dot" for child in note.content) and _is_whole([note])


def _notes(read: Reading, ours: Spans) -> list[Note]:
    """The notes in tuplets in order of time, but those that make up a plain value alone."""
    tuplets = [pair for pair in ours.pairs if pair.start.kind == "tuplet"]
    tremolos = _tremolos(read)
    found = [
        note
        for bar in read.bars
        for note in bar.notes
        if ratio(note) is not None and (note.place.bar, note.place.order) not in tremolos
        if any(_under(pair, note) for pair in tuplets) or not _is_plain_alone(note)
    ]
    return sorted(found, key=lambda note: (note.place.bar, note.place.onset, note.place.order))


def _under(pair: SpanPair, note: Note) -> bool:
    begin, end = ((e.place.bar, e.place.onset) for e in (pair.start, pair.stop))
    same = pair.start.voice == note.voice and (note.voice or pair.start.staff == note.staff)
    return bool(same) and begin <= (note.place.bar, note.place.onset) <= end


def _is_whole(notes: list[Note]) -> bool:
    """As many of one plain value as the ratio says, by how long they sound, one behind the other."""
    first, last = notes[0], notes[-1]
    joined = all(a.end == b.place.onset for a, b in zip(notes, notes[1:], strict=False))
    sounding = last.end - first.place.onset
    unit = sounding * (ratio(first) or 1) / _actual(first)
    return joined and unit in _VALUES and len({(n.place.bar, ratio(n)) for n in notes}) == 1


def restated(read: Reading, ours: Spans, extra: Counter[object]) -> Counter[object]:
    """Of the spans that the source does not have, the tuplets that are rightly put over the first of their ratio."""
    found: Counter[object] = Counter()
    tuplets = _notes(read, ours)
    for pair in ours.pairs:
        value = next(iter(spans_of(Spans([pair], []), 0)))
        if pair.start.kind != "tuplet" or value not in extra:
            continue
        inside = [note for note in tuplets if _under(pair, note)]
        earlier = [n for n in tuplets if inside and ratio(n) == ratio(inside[0]) and n not in inside]
        begin = (pair.start.place.bar, pair.start.place.onset)
        numbered = (p for p in ours.pairs if p is not pair and p.start.kind == "tuplet" and _shows(p))
        shown = {id(n) for p in numbered for n in earlier if _under(p, n)}
        if any((n.place.bar, n.place.onset) <= begin and id(n) in shown for n in earlier):
            continue
        if inside and _is_whole(inside):
            found[value] += 1
    return found


def unnumbered(read: Reading, ours: Spans) -> list[str]:
    """Ratios whose first group, a whole one, has no number."""
    wrong = []
    tuplets = _notes(read, ours)
    numbered = [pair for pair in ours.pairs if pair.start.kind == "tuplet" and _shows(pair)]
    for one in dict.fromkeys(ratio(note) for note in tuplets):
        same = [note for note in tuplets if ratio(note) == one]
        at = (same[0].place.bar, same[0].place.onset)
        first = [note for note in same if (note.place.bar, note.place.onset) == at]
        if any(_under(pair, note) for pair in numbered for note in first):
            continue
        row = [n for n in same if n.voice == first[0].voice and n.place.bar == at[0]]
        if any(_is_whole(row[:count]) for count in range(2, len(row) + 1)):
            wrong.append(
                f"a tuplet of {_actual(first[0])} in bar @{at[0] + 1} has no number, and is the first"
            )
    return wrong
