"""Lays events out as printed notes: cut at barlines, spelled in the metre, with ties, tuplets and beams."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from lxml import etree

from excerpts.notes.beams import LEVELS, Stem, beam, beam_graces
from excerpts.notes.metre import Metre, free_metre, read_metre
from excerpts.notes.model import Event, Line, Printed
from excerpts.notes.spelling import Piece, Span, Tuplet, Value, spell


@dataclass(slots=True)
class Note:
    """One printed note, chord or rest of a bar, while the line is being written.

    Attributes:
        event: The event it belongs to.
        index: Index of that event in the line.
        onset: Quarter notes from the start of the bar.
        duration: Sounding length in quarter notes.
        value: Written type and dots; None for a rest that fills its bar and for what has no written length.
        whole_bar: A rest that fills its bar.
        modification: `<time-modification>` as text, "" outside tuplets.
        tuplet: The tuplet that the writer made, to be bracketed.
        beams: `<beam>` elements as text.
        kept: It is printed as the source prints it.
        segment: Number of the tied segment, from 0.
        last: It is the last segment of its event.
        tuplet_edges: "start" and "stop" where the writer's tuplet begins and ends.
        bracket: The tuplet needs a bracket, because no beam shows which notes belong to it.
    """

    event: Event
    index: int
    onset: Fraction
    duration: Fraction
    value: Value | None = None
    whole_bar: bool = False
    modification: str = ""
    tuplet: Tuplet | None = None
    beams: tuple[str, ...] = ()
    kept: bool = False
    segment: int = 0
    last: bool = True
    tuplet_edges: set[str] = field(default_factory=set)
    bracket: bool = True


@dataclass(frozen=True, slots=True)
class _Part:
    """A stretch of an event inside one bar, not yet spelled unless the source prints it."""

    bar: int
    onset: Fraction
    end: Fraction
    event: int
    printed: Printed | None


def lay_out(line: Line) -> list[list[Note]]:
    """The printed notes of each bar of a line, in order."""
    metres = bar_metres(line)
    parts: list[list[_Part]] = [[] for _ in line.bars]
    for part in _parts(line):
        parts[part.bar].append(part)
    bars = [_notes(line, found, *metres[index]) for index, found in enumerate(parts)]
    _number_segments(bars)
    _beam_bars(bars, metres)
    for notes in bars:
        _bracket_tuplets(notes)
    return bars


def bar_metres(line: Line) -> list[tuple[Metre, Fraction]]:
    """The metre of each bar, and where in it the bar starts (a pick-up starts late)."""
    current: Metre | None = None
    result: list[tuple[Metre, Fraction]] = []
    signatures = _signatures(line)
    for index, bar in enumerate(line.bars):
        current = signatures.get(index, current)
        metre = current or free_metre(bar.length)
        result.append((metre, _shift(line, index, metre)))
    return result


def _signatures(line: Line) -> dict[int, Metre | None]:
    """The metre that is set at the start of a bar, by the bar's index."""
    found: dict[int, Metre | None] = {}
    for placed in line.placed:
        if placed.name == "attributes" and placed.onset == 0 and "<time" in placed.xml:
            for time in etree.fromstring(placed.xml).findall("time"):
                found[placed.bar] = read_metre(time)
    return found


def _shift(line: Line, index: int, metre: Metre) -> Fraction:
    """How late a short bar starts: a pick-up, or the second part of a bar that is split in two."""
    missing = metre.length - line.bars[index].length
    if missing <= 0:
        return Fraction(0)
    before = line.bars[index - 1].length if index else Fraction(0)
    after = line.bars[index + 1].length if index + 1 < len(line.bars) else Fraction(0)
    if before == missing or (index == 0 and after != missing):
        return missing
    return Fraction(0)


def _parts(line: Line) -> list[_Part]:
    """Cut the events at their printed segments and at barlines; grace notes are parts of no length."""
    parts: list[_Part] = []
    starts = [bar.start for bar in line.bars]
    for index, event in enumerate(line.events):
        bar = max(0, (bisect_left if event.closing else bisect_right)(starts, event.onset) - 1)
        segments = event.segments if sum(event.segments) == event.duration else ()
        printed: tuple[Printed | None, ...] = event.printed
        if len(printed) != max(1, len(segments)):
            printed = (None,) * max(1, len(segments))
        start = event.onset
        for length, how in zip(segments or (event.duration,), printed, strict=True):
            parts.extend(_at_barlines(line, bar, index, start, start + length, how))
            start += length
    return parts


def _at_barlines(
    line: Line, bar: int, event: int, start: Fraction, end: Fraction, printed: Printed | None
) -> Iterable[_Part]:
    while bar + 1 < len(line.bars) and start >= line.bars[bar + 1].start and end > start:
        bar += 1
    here = line.bars[bar].start
    while bar + 1 < len(line.bars) and end > line.bars[bar + 1].start:
        edge = line.bars[bar + 1].start
        yield _Part(bar, start - here, edge - here, event, None)
        bar, start, here, printed = bar + 1, edge, edge, None
    yield _Part(bar, start - here, end - here, event, printed)


def _notes(line: Line, parts: list[_Part], metre: Metre, shift: Fraction) -> list[Note]:
    """Spell the parts of one bar, leaving those alone that are printed as in the source."""
    notes: list[Note] = []
    waiting: list[_Part] = []
    for part in parts:
        event = line.events[part.event]
        whole_bar = part.printed is None and _fills_bar(line, part, event)
        if event.grace or event.hidden or part.printed is not None or whole_bar:
            notes.extend(_spelled(line, waiting, metre, shift))
            waiting = []
            notes.append(_as_printed(part, event, whole_bar))
        else:
            waiting.append(part)
    notes.extend(_spelled(line, waiting, metre, shift))
    return notes


def _fills_bar(line: Line, part: _Part, event: Event) -> bool:
    if not event.is_rest or part.onset:
        return False
    return event.full_bar or part.end == line.bars[part.bar].length > 0


def _as_printed(part: _Part, event: Event, whole_bar: bool) -> Note:
    printed = part.printed
    length = part.end - part.onset
    note = Note(event, part.event, part.onset, length, kept=printed is not None, whole_bar=whole_bar)
    if printed is not None:
        note.value = Value(printed.type, printed.dots) if printed.type else None
        note.modification, note.beams = printed.modification, printed.beams
    elif event.grace:
        note.value = Value(event.grace.lstrip("/"))
    return note


def _spelled(line: Line, parts: list[_Part], metre: Metre, shift: Fraction) -> list[Note]:
    spans = [Span(p.onset + shift, p.end + shift, line.events[p.event].is_rest, p.event) for p in parts]
    pieces = spell(spans, metre)
    return [_note(line.events[piece.key], piece, pieces, shift) for piece in pieces]


def _note(event: Event, piece: Piece, pieces: list[Piece], shift: Fraction) -> Note:
    note = Note(
        event, piece.key, piece.onset - shift, piece.end - piece.onset, piece.value, tuplet=piece.tuplet
    )
    if piece.tuplet is not None:
        note.modification = _modification(piece.tuplet, piece.value)
        group = [other for other in pieces if other.tuplet == piece.tuplet]
        if piece is group[0]:
            note.tuplet_edges.add("start")
        if piece is group[-1]:
            note.tuplet_edges.add("stop")
    return note


def _modification(tuplet: Tuplet, value: Value | None) -> str:
    text = f"<actual-notes>{tuplet.actual}</actual-notes><normal-notes>{tuplet.normal}</normal-notes>"
    if value != Value(tuplet.type):
        text += f"<normal-type>{tuplet.type}</normal-type>"
    return f"<time-modification>{text}</time-modification>"


def _number_segments(bars: list[list[Note]]) -> None:
    before: Note | None = None
    for note in (note for notes in bars for note in notes):
        if before is not None and before.index == note.index:
            note.segment = before.segment + 1
            before.last = False
        before = note


def _beam_bars(bars: list[list[Note]], metres: list[tuple[Metre, Fraction]]) -> None:
    """Beam the bars that are not printed as in the source, and all if the source has no beam at all."""
    none = not any(note.beams for notes in bars for note in notes)
    fresh = [none or any(not note.kept and _levels(note) for note in notes) for notes in bars]
    for index in range(1, len(bars)):
        if _open_beam(bars[index - 1]) and (fresh[index] or fresh[index - 1]):
            fresh[index] = fresh[index - 1] = True
    for index in range(len(bars) - 1, 0, -1):
        if _open_beam(bars[index - 1]) and (fresh[index] or fresh[index - 1]):
            fresh[index] = fresh[index - 1] = True
    for notes, is_fresh, (metre, shift) in zip(bars, fresh, metres, strict=True):
        if is_fresh:
            _beam_bar(notes, metre, shift)


def _open_beam(notes: list[Note]) -> bool:
    """Whether the source beams the last note of a bar on over the barline."""
    beams = next((note.beams for note in reversed(notes) if not note.event.grace), ())
    return bool(beams) and beams[0].endswith((">begin</beam>", ">continue</beam>"))


def _levels(note: Note) -> int:
    return LEVELS.get(note.value.type, 0) if note.value and not note.event.is_rest else 0


def _beam_bar(notes: list[Note], metre: Metre, shift: Fraction) -> None:
    timed = [note for note in notes if not note.event.grace]
    stems = [_stem(note, shift) for note in timed]
    for note, levels in zip(timed, beam(stems, metre), strict=True):
        note.beams = _beam_elements(levels)
    for is_grace, group in groupby(notes, lambda note: bool(note.event.grace)):
        graces = list(group) if is_grace else []
        for grace, levels in zip(graces, beam_graces([_levels(g) for g in graces]), strict=True):
            grace.beams = _beam_elements(levels)


def _bracket_tuplets(notes: list[Note]) -> None:
    """Leave the bracket off tuplets whose notes are one beamed group of their own."""
    for note in notes:
        if "start" in note.tuplet_edges:
            group = [other for other in notes if other.tuplet == note.tuplet]
            ends = [_first_level(other) for other in group]
            whole = ends[0] == "begin" and ends[-1] == "end" and set(ends[1:-1]) <= {"continue"}
            note.bracket = not whole


def _first_level(note: Note) -> str:
    return etree.fromstring(note.beams[0]).text or "" if note.beams else ""


def _stem(note: Note, shift: Fraction) -> Stem:
    tuplet = f"{note.tuplet.start}" if note.tuplet else note.modification
    start = note.onset + shift
    return Stem(start, start + note.duration, _levels(note), note.event.is_rest, tuplet)


def _beam_elements(levels: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f'<beam number="{number}">{level}</beam>' for number, level in enumerate(levels, 1))
