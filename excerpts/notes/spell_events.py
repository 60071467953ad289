"""Lays events out as printed notes: cut at barlines, spelled in the metre, with ties, tuplets and beams."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from excerpts.excerpt import BarRef
from excerpts.musicxml.elements import Signatures, TimeModification
from excerpts.musicxml.metre import NO_METRE, Metre, free_metre, metre_of_time
from excerpts.notes.beams import rebeam
from excerpts.notes.model import Event, Printed, Voice
from excerpts.notes.spelling import Note, Piece, Tuplet, Value, has_value, spell
from excerpts.notes.time_span import TimeSpan, is_binary


class _Part(NamedTuple):
    """A stretch of an event inside one bar, not yet spelled unless the source prints it."""

    bar: int
    onset: Fraction
    length: Fraction
    event: int
    printed: Printed | None


def lay_out(line: Voice) -> list[list[Note]]:
    """The printed notes of each bar of a line, in order."""
    metres = bar_metres(line)
    parts: list[list[_Part]] = [[] for _ in line.bars]
    for part in _parts(line):
        parts[part.bar].append(part)
    bars = [_notes(line, here, *metres[index]) for index, here in enumerate(parts)]
    _number_segments(bars)
    rebeam(bars, metres)
    return bars


def bar_metres(line: Voice) -> list[tuple[Metre, Fraction]]:
    """The metre of each bar, and where in it the bar starts (a pick-up starts late)."""
    current = NO_METRE
    result: list[tuple[Metre, Fraction]] = []
    signatures = _signatures(line)
    for index, bar in enumerate(line.bars):
        current = signatures.get(index, current)
        if current.length:
            result.append((_as_shown(line, bar, current), _shift(line, index, current)))
        else:
            result.append((free_metre(bar.length), Fraction(0)))
    return result


def _as_shown(line: Voice, bar: BarRef, metre: Metre) -> Metre:
    """The metre with the groups that the source beams this bar in, else the groups that it beams most bars in."""
    if not metre.part or not line.groups:
        return metre
    own = [groups for place, groups in line.groups if place == bar.place]
    usual = [groups for groups, _ in Counter(groups for _, groups in line.groups).most_common()]
    grouped = (metre.grouped(groups) for groups in (*own, *usual) if metre.admits(groups))
    return next(grouped, metre)


def _signatures(line: Voice) -> dict[int, Metre]:
    """The metre that is set at the start of a bar, by the bar's index."""
    signatures: dict[int, Metre] = {}
    for placed in line.placed:
        if placed.onset == 0 and isinstance(placed.sign, Signatures):
            for time in placed.sign.times:
                signatures[placed.bar] = metre_of_time(time)
    return signatures


def _shift(line: Voice, index: int, metre: Metre) -> Fraction:
    """How late a short bar starts: a pick-up, or the second part of a bar that is split in two."""
    missing = metre.length - line.bars[index].length
    if missing <= 0:
        return Fraction(0)
    before = line.bars[index - 1].length if index else Fraction(0)
    after = line.bars[index + 1].length if index + 1 < len(line.bars) else Fraction(0)
    if before == missing or (index == 0 and after != missing):
        return missing
    return Fraction(0)


def _parts(line: Voice) -> list[_Part]:
    """Cut the events at their printed segments and at barlines; grace notes are parts of no length."""
    parts: list[_Part] = []
    starts = [bar.start for bar in line.bars]
    last, bar = len(starts) - 1, 0
    for index, event in enumerate(line.events):
        start = event.onset
        # Most notes stand inside the bar of the note before, and end in it.
        if not (starts[bar] < start and (bar == last or start < starts[bar + 1])):
            bar = max(0, (bisect_left if event.closing else bisect_right)(starts, start) - 1)
        segments = event.segments if _add_up(event) else ()
        printed: tuple[Printed | None, ...] = event.printed
        if len(printed) != max(1, len(segments)):
            printed = (None,) * max(1, len(segments))
        for length, how in zip(segments or (event.duration,), printed, strict=True):
            end = start + length
            if bar == last or start < starts[bar + 1] >= end:
                parts.append(_Part(bar, start - starts[bar], length, index, how))
            else:
                parts.extend(_at_barlines(line, bar, index, start, end, how))
            start = end
    return parts


def _add_up(event: Event) -> bool:
    """Whether the printed segments of an event still are as long as it is."""
    if len(event.segments) == 1:
        return event.segments[0] == event.duration
    return sum(event.segments) == event.duration


def _at_barlines(
    line: Voice, bar: int, event: int, start: Fraction, end: Fraction, printed: Printed | None
) -> Iterable[_Part]:
    while bar + 1 < len(line.bars) and start >= line.bars[bar + 1].start and end > start:
        bar += 1
    here = line.bars[bar].start
    while bar + 1 < len(line.bars) and end > line.bars[bar + 1].start:
        edge = line.bars[bar + 1].start
        yield _Part(bar, start - here, edge - start, event, None)
        bar, start, here, printed = bar + 1, edge, edge, None
    yield _Part(bar, start - here, end - start, event, printed)


def _notes(line: Voice, parts: list[_Part], metre: Metre, shift: Fraction) -> list[Note]:
    """Spell the parts of one bar, leaving those alone that are printed as in the source."""
    notes: list[Note] = []
    waiting: list[_Part] = []
    for part in _torn_tuplets_free(line, parts):
        event = line.events[part.event]
        whole_bar = part.printed is None and _fills_bar(line, part, event, metre)
        if event.grace or event.hidden or part.printed is not None or whole_bar or _untyped(part, event):
            if waiting:
                notes.extend(_spelled(line, waiting, metre, shift))
                waiting = []
            notes.append(_as_printed(part, event, whole_bar))
        else:
            waiting.append(part)
    if waiting:
        notes.extend(_spelled(line, waiting, metre, shift))
    return notes


def _torn_tuplets_free(line: Voice, parts: list[_Part]) -> list[_Part]:
    """The parts of a bar; of a tuplet in which something is spelled anew, all is spelled anew with it."""
    result: list[_Part] = []
    group: list[_Part] = []
    for part in parts:
        group.append(part)
        if is_binary(part.onset + part.length):
            result += _spelled_together(line, group)
            group = []
    return result + _spelled_together(line, group)


def _spelled_together(line: Voice, group: list[_Part]) -> list[_Part]:
    if len(group) < 2 or all(part.printed or line.events[part.event].grace for part in group):
        return group
    return [
        part._replace(printed=None)
        if part.printed and part.printed.modification and not line.events[part.event].grace
        else part
        for part in group
    ]


def _untyped(part: _Part, event: Event) -> bool:
    """Whether the source names no type for a length that no type has: then none is made up."""
    return part.length in event.segments and not has_value(part.length)


def _fills_bar(line: Voice, part: _Part, event: Event, metre: Metre) -> bool:
    """Whether a rest fills its bar; one in a bar that is shorter than its metre is written as long as it is."""
    if not event.is_rest or part.onset or part.length < metre.length:
        return False
    return event.full_bar or part.length == line.bars[part.bar].length > 0


def _as_printed(part: _Part, event: Event, whole_bar: bool) -> Note:
    printed = part.printed
    note = Note(event, part.event, part.onset, part.length, kept=printed is not None, whole_bar=whole_bar)
    if printed is not None:
        note.value = Value(printed.type, printed.dots) if printed.type else None
        note.modification, note.beams = printed.modification, printed.beams
    elif event.grace:
        note.value = Value(event.grace.lstrip("/"))
    return note


def _spelled(line: Voice, parts: list[_Part], metre: Metre, shift: Fraction) -> list[Note]:
    spans = []
    for part in parts:
        onset = part.onset + shift if shift else part.onset
        spans.append(TimeSpan(onset, onset + part.length, line.events[part.event].is_rest, part.event))
    pieces = spell(spans, metre)
    return [_note(line.events[piece.key], piece, pieces, shift) for piece in pieces]


def _note(event: Event, piece: Piece, pieces: list[Piece], shift: Fraction) -> Note:
    onset = piece.onset - shift if shift else piece.onset
    note = Note(event, piece.key, onset, piece.end - piece.onset, piece.value, tuplet=piece.tuplet)
    if piece.tuplet is not None:
        note.modification = _modification(piece.tuplet, piece.value)
        group = [other for other in pieces if other.tuplet == piece.tuplet]
        if piece is group[0]:
            note.tuplet_edges.add("start")
        if piece is group[-1]:
            note.tuplet_edges.add("stop")
    return note


def _modification(tuplet: Tuplet, value: Value | None) -> TimeModification:
    kind = "" if value == Value(tuplet.type) else tuplet.type
    return TimeModification(tuplet.actual, tuplet.normal, kind)


def _number_segments(bars: list[list[Note]]) -> None:
    before: Note | None = None
    for note in (note for notes in bars for note in notes):
        if before is not None and before.index == note.index:
            note.segment = before.segment + 1
            note.since = before.since + before.duration
            before.last = False
        before = note


Groups = tuple[Fraction, ...]
"""Lengths in quarter notes that add up to a bar."""


def groups_shown(line: Voice) -> tuple[tuple[int, Groups], ...]:
    """Place in the score and groups of each bar of a line whose beams show them, or notes without beams."""
    metres = bar_metres(line)
    if not any(metre.part for metre, _ in metres):
        return ()
    beams = _in_bars(line, metres, _beams(line))
    notes = _in_bars(line, metres, ((event.onset, event.end) for event in line.events if event.heads))
    shown = (
        (bar.place, metre.as_beamed(own or single))
        for bar, (metre, _), own, single in zip(line.bars, metres, beams, notes, strict=True)
    )
    return tuple((place, groups) for place, groups in shown if groups is not None)


def _in_bars(
    line: Voice, metres: Sequence[tuple[Metre, Fraction]], spans: Iterable[tuple[Fraction, Fraction]]
) -> list[list[tuple[Fraction, Fraction]]]:
    """For each bar the spans that begin in it, in its metre's time."""
    by_bar: list[list[tuple[Fraction, Fraction]]] = [[] for _ in line.bars]
    for start, end in spans:
        bar = line.bar_at(start)
        shift = metres[bar][1] - line.bars[bar].start
        by_bar[bar].append((start + shift, end + shift))
    return by_bar


def _beams(line: Voice) -> Iterator[tuple[Fraction, Fraction]]:
    """Where each beam of the line begins, and where its last note ends."""
    begun: Fraction | None = None
    for event in line.events:
        onset = event.onset
        for length, printed in zip(event.segments, event.printed, strict=False):
            role = printed.beams[0].text if printed.beams else ""
            if role == "begin":
                begun = onset
            elif role == "end" and begun is not None:
                yield begun, onset + length
                begun = None
            onset += length
