"""Spans and ties of an independent reading, as pairs of start and stop."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from tests.corpus.reading import Bar, End, Note, Reading

_STALE_AFTER = 2


@dataclass(frozen=True)
class SpanPair:
    start: End
    stop: End


@dataclass
class Spans:
    pairs: list[SpanPair]
    lone: list[End]


def pair_spans(reading: Reading) -> Spans:
    """Pair starts and stops in time order: by number, then same voice and staff, same voice, same staff.

    The latest start waiting is taken; for a tuplet one of its own voice, or none. A start that another of its voice
    overtook by more than two bars before any stop came is one that the source never ended; it ends where it was
    last said to go on, if anywhere.
    """
    waiting: dict[tuple[str, str], list[End]] = defaultdict(list)
    going_on: dict[int, End] = {}
    found = Spans([], [])
    for bar in reading.bars:
        for end in sorted(bar.ends, key=lambda end: end.place.onset):
            line = waiting[end.kind, end.number]
            if end.role == "start":
                line.append(end)
                continue
            best = _best(line, end)
            if best is None:
                found.lone.append(end)
            elif end.role == "middle":
                going_on[id(best)] = end
            else:
                line.remove(best)
                found.pairs.append(SpanPair(best, end))
                limit = best.place.bar - _STALE_AFTER
                stale = [s for s in line if s.voice == best.voice and s.place.bar < limit]
                found.lone.extend(stale)
                line[:] = [s for s in line if s not in stale]
    for line in waiting.values():
        found.lone.extend(line)
    for start in [end for end in found.lone if id(end) in going_on]:
        found.lone.remove(start)
        found.pairs.append(SpanPair(start, going_on[id(start)]))
    return found


def _best(line: list[End], end: End) -> End | None:
    """The start that an end belongs to; what a note begins itself it does not end, but for a trill's line."""

    def fit(start: End) -> tuple[bool, bool]:
        return start.voice == end.voice, start.staff == end.staff

    if end.kind == "tuplet":
        own = [s for s in line if (s.voice, s.voice or s.staff) == (end.voice, end.voice or end.staff)]
        return own[-1] if own else None
    possible = [s for s in line if not (s.on_note and s.place == end.place)]
    if end.kind == "wavy-line":
        possible = possible or line
    return max(reversed(possible), key=fit) if possible else None


@dataclass
class Ties:
    pairs: list[tuple[Note, Note]]
    lone_starts: list[Note]
    lone_stops: list[Note]


def pair_ties(reading: Reading) -> Ties:
    """Join each tie to the note of the same height that begins where its note ends.

    A voice that stops short of its barline (another voice makes the bar too long) is tied over it all the same.
    Where only the start is written, in 52 files of the corpus for nearly all ties (beethoven/opus18no3.mxl has 458
    starts and no stop), the tie leads to the next note of its voice if that has its height.
    """
    begins: list[Fraction] = []
    now = Fraction(0)
    for bar in reading.bars:
        begins.append(now)
        now += bar.length
    starts: dict[tuple[Fraction, Fraction | None], list[Note]] = defaultdict(list)
    stops: list[Note] = []
    for bar, begin in zip(reading.bars, begins, strict=True):
        lasts = {n.voice: n.end for n in bar.notes}
        for note in bar.notes:
            lasts[note.voice] = max(lasts[note.voice], note.end)
        for note in bar.notes:
            if "start" in note.ties:
                starts[begin + note.end, note.height].append(note)
                if note.end == lasts[note.voice] < bar.length:
                    starts[begin + bar.length, note.height].append(note)
            if "stop" in note.ties:
                stops.append(note)
    found = Ties([], [], [])
    used: set[int] = set()
    for stop in stops:
        at = begins[stop.place.bar] + stop.place.onset
        free = [s for s in starts[at, stop.height] if id(s) not in used and s is not stop]
        if not free:
            found.lone_stops.append(stop)
            continue
        best = next((s for s in free if s.voice == stop.voice), free[0])
        used.add(id(best))
        found.pairs.append((best, stop))
    everyone = {id(note): note for line in starts.values() for note in line}
    lone = [note for ident, note in everyone.items() if ident not in used]
    _lead_on(reading, begins, lone, found)
    led = {id(a) for a, _ in found.pairs}
    found.lone_starts = [note for note in lone if id(note) not in led]
    return found


def _lead_on(reading: Reading, begins: list[Fraction], lone: list[Note], found: Ties) -> None:
    """Join starts to the note behind them that says nothing of a tie."""
    taken: set[int] = set()
    for start in lone:
        bar = reading.bars[start.place.bar]
        at_end = start.end == bar.length
        if at_end and turns(bar, "stop", "discontinue", "backward"):
            continue
        ends = [begins[start.place.bar] + start.end]
        if start.end == max(n.end for n in bar.notes if n.voice == start.voice):
            ends.append(begins[start.place.bar] + bar.length)
        for end in ends:
            behind = [
                note
                for index in range(start.place.bar, min(start.place.bar + 2, len(reading.bars)))
                for note in reading.bars[index].notes
                if begins[index] + note.place.onset == end
                and (note.height, note.voice) == (start.height, start.voice)
                and note.duration > 0
                and "stop" not in note.ties
                and note is not start
                and id(note) not in taken
            ]
            if behind:
                taken.add(id(behind[0]))
                found.pairs.append((start, behind[0]))
                break


def turns(bar: Bar, *kinds: str) -> bool:
    """Whether an ending or a repeat of one of these kinds stands at a barline of the bar."""
    repeats = {v for line in bar.barlines for child in line[3] for k, v in child[1] if k == "direction"}
    return bool(({kind for kind, _, _ in bar.endings} | repeats) & set(kinds))
