"""Takes the bars of the box out of an excerpt, for a variant: the box, and the note that it runs into.

The context in front goes; what is in force there is restated by the cutter. Notes outside a box that does
not fill its bars become rests, and of the bar after the box only the arrival note stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import BarRef, Box, Excerpt, Position, ReportLine, bar_name, span_of_boxes
from excerpts.musicxml.elements import ITALIC, Direction, Words
from excerpts.notes import Event, TimedElement, Voice, VoiceError, read_line, read_lines
from excerpts.score import score_from_bytes
from excerpts.variants.clipping import clip, drop_loose_ties, fill_with_rests
from excerpts.variants.directions import clip_placed
from excerpts.variants.spanning_marks import close_spans


def where(excerpt: Excerpt | Voice) -> str:
    """The passage as messages name it: the file and its bars."""
    return excerpt.origin.where()


def box_times(line: Voice) -> tuple[Fraction, Fraction]:
    """Start and end of the box in quarter notes; all of the line where it has no box."""
    return span_of_boxes(line.bars, line.boxes)


def box_notes(line: Voice) -> list[int]:
    """The notes that begin in the box, by their indices in the line; grace notes are none."""
    low, high = box_times(line)
    return [i for i, e in enumerate(line.events) if e.heads and not e.grace and low <= e.onset < high]


@lru_cache(maxsize=16)  # the variants of a box are made one after another
def take_box(excerpt: Excerpt, voice: str | None = None, staff: int | None = None) -> Voice:
    """The notes of the box and the arrival note after it, as a line whose box is what is practised.

    Args:
        excerpt: Music of one part; without boxes all of it is practised.
        voice: Which voice, where several sound in the box.
        staff: Which staff, likewise.

    Raises:
        VariantError: Several voices sound in the box, or none, or the one asked for is not there.
    """
    if not excerpt.boxes:
        try:
            line = _own_notes(read_line(excerpt, voice, staff))
        except VoiceError as error:
            raise VariantError(error.what, where=where(excerpt), hint=error.hint) from error
        if not line.events:
            raise VariantError("there is no note in the box.", where=where(excerpt))
        return replace(line, open_ends=())
    end = excerpt.boxes[-1].end
    at_barline = end.onset >= excerpt.bars[end.bar].length
    if at_barline and end.bar + 1 < len(excerpt.bars):
        with_next = _only_box(_cut(excerpt, end.bar + 1), voice, staff)
        if len(with_next.events) and _arrives(with_next):
            return with_next
    return _only_box(_cut(excerpt, end.bar), voice, staff)


def _own_notes(line: Voice) -> Voice:
    """The line without its cues, which another player plays: rests where they stood."""
    if not any(event.cue for event in line.events):
        return line
    events = [event for event in line.events if not event.cue]
    filled = close_spans(drop_loose_ties(fill_with_rests(line.bars, events))) if events else ()
    cued = {event.onset for event in line.events if event.cue}
    placed = tuple(one for one in line.placed if line.time_of(one) not in cued or not _names_cue(one))
    return replace(line, events=filled, placed=placed)


_INSTRUMENTS: Final = re.compile(
    r"(?:\d\.? ?|I{1,3}\.? ?)?(?:vn|vln|vl|violin[eio]?s?|va|vla|viola[s]?|viole|vc|vcl|vlc|cell[oi]|violoncell[oi]|"
    r"cb|db|kb|(?:double )?bass|contrabass[oi]?|kontrabass|picc?|piccolo|fl|flutes?|flaut[oi]|ob|oboes?|oboi|"
    r"cl|kl|clar|clarinets?|clarinett[oi]|fag|fg|fagott[oi]?|bn|bsn|bassoons?|cor|corn[oi]|hn|hr|horns?|"
    r"tpt|trp|trumpets?|tromb[ae]|trb|pos|trombon[ei]|trombones?|tuba|timp|timpani|pk|perc|hp|hf|harp|arpa|"
    r"pft?|pianoforte|klav|org|organ|strings|winds|ww|brass)\.?(?: ?[I\d]{1,3}\.?)?",
    re.IGNORECASE,
)
"""Words over cue notes that say who plays them; common practice, no source."""


def _names_cue(placed: TimedElement) -> bool:
    """Whether a direction is nothing but the name of the instrument that has the cue."""
    texts = [sign.text.strip() for sign in placed.signs if isinstance(sign, Words)]
    return bool(texts) and len(texts) == len(placed.signs) and all(map(_INSTRUMENTS.fullmatch, texts))


def _arrives(line: Voice) -> bool:
    """Whether a note sounds after the box."""
    end = box_times(line)[1]
    return any(not event.is_rest and event.end > end for event in reversed(line.events))


def _cut(excerpt: Excerpt, last: int) -> Excerpt:
    """Cut the bars from the box's first to `last` (an index) out of the excerpt."""
    first = excerpt.boxes[0].start.bar
    part = score_from_bytes(excerpt.xml, excerpt.origin.score or "excerpt").part()
    piece = part.passage(f"@{first + 1}-@{last + 1}").cut(context=0)
    bars = tuple(
        BarRef(old.place, old.label, new.start, new.length)
        for old, new in zip(excerpt.bars[first : last + 1], piece.bars, strict=True)
    )
    boxes = tuple(
        Box(_earlier(box.start, first, bars), _earlier(box.end, first, bars)) for box in excerpt.boxes
    )
    return replace(piece, bars=bars, boxes=boxes, origin=excerpt.origin, report=_report(excerpt, piece))


def _report(excerpt: Excerpt, piece: Excerpt) -> tuple[ReportLine, ...]:
    """What still holds of the excerpt's report, and what this cut adds; what it leaves open is dropped."""
    labels = {"", *(bar.label for bar in piece.bars)}
    lines = [line for line in (*excerpt.report, *piece.report) if line.bar in labels]
    lines = [replace(line, action="dropped") if line.action == "opened" else line for line in lines]
    return tuple(dict.fromkeys(lines))


def _earlier(position: Position, first: int, bars: Sequence[BarRef]) -> Position:
    """A position in bars that begin with the excerpt's bar `first`; a bar of a wrong source may be shorter now."""
    bar = position.bar - first
    return Position(bar, min(position.onset, bars[bar].length))


def _only_box(piece: Excerpt, voice: str | None, staff: int | None) -> Voice:
    line = _sounding_line(piece, voice, staff)
    start, end = box_times(line)
    timed = [(event, event.end) for event in line.events]
    arrival = _arrival(line, timed, end)
    kept = (_kept(event, stop, start, end, arrival) for event, stop in timed)
    events = [event for event in kept if event is not None]
    _check_one_after_the_other(events, piece)
    edge = end if arrival is None else max(end, arrival.onset)
    return replace(
        line,
        events=close_spans(drop_loose_ties(fill_with_rests(line.bars, events))),
        placed=clip_placed(line, start, edge),
        open_ends=(),
    )


def _check_one_after_the_other(events: list[Event], piece: Excerpt) -> None:
    """Refuse a voice that a wrong source lets sound over itself: nothing tells in which order it is to be played."""
    until = Fraction(0)
    for event in events:
        if event.grace or event.is_rest:
            continue
        if event.onset < until:
            index = max(place for place, bar in enumerate(piece.bars) if bar.start <= event.onset)
            raise VariantError(
                f"notes of one voice sound over each other in {bar_name(piece.bars, index)}, and are no chord.",
                where=where(piece),
                hint="Correct the score: give them voices of their own, or make chords of them.",
            )
        until = event.end


def _sounding_line(piece: Excerpt, voice: str | None, staff: int | None) -> Voice:
    """The one voice that sounds inside the box."""
    lines = [line for line in map(_own_notes, read_lines(piece)) if line.events]
    if voice is not None or staff is not None:
        try:
            lines = [_own_notes(read_line(piece, voice, staff))]
        except VoiceError as error:
            raise VariantError(error.what, where=where(piece), hint=error.hint) from error
    sounding = [line for line in lines if _sounds(line)]
    if len(sounding) == 1:
        return sounding[0]
    if not sounding:
        raise VariantError("there is no note in the box.", where=where(piece))
    names = ", ".join(
        f"--voice {line.events[0].voice}"
        + (f" --staff {line.events[0].staff}" if len({one.events[0].staff for one in sounding}) > 1 else "")
        for line in sounding
    )
    raise VariantError(
        f"a variant is made of one voice, and {len(sounding)} sound in the box.",
        where=where(piece),
        hint=f"Choose one of: {names}.",
    )


def _sounds(line: Voice) -> bool:
    start, end = box_times(line)
    return any(not e.is_rest and not e.hidden and e.onset < end and e.end > start for e in line.events)


_Timed = list[tuple[Event, Fraction]]
"""Events with where they end, which is asked for several times."""


def _arrival(line: Voice, timed: _Timed, end: Fraction) -> Event | None:
    """The note right after the box, or the one that sounds on into it; cut at the end of its bar."""
    for event, stop in timed:
        if stop <= end or event.is_rest or event.grace or event.hidden:
            continue
        if event.onset > end:
            return None
        bar_end = next(bar.end for bar in reversed(line.bars) if bar.start <= end)
        return clip(event, event.onset, min(stop, max(bar_end, end)))
    return None


def _kept(
    event: Event, stop: Fraction, start: Fraction, end: Fraction, arrival: Event | None
) -> Event | None:
    """What stays of an event: all inside the box, the sounding end of one from before, the arrival."""
    if event.grace:
        inside = start < event.onset < end or (event.onset == (end if event.closing else start))
        leads_on = arrival is not None and event.onset == end == arrival.onset and not event.closing
        return event if inside or leads_on else None
    if arrival is not None and event.onset == arrival.onset and not event.is_rest:
        return arrival if arrival.onset >= start else clip(arrival, start, arrival.end)
    if stop <= start or event.onset >= end:
        return None
    if start <= event.onset and stop <= end:
        return event
    return clip(event, max(event.onset, start), min(stop, end))


def with_word(line: Voice, word: str) -> Voice:
    """The line with a word over the first note of its box."""
    return replace(line, placed=placed_with_word(line, line.placed, word))


def placed_with_word(line: Voice, placed: Iterable[TimedElement], word: str) -> tuple[TimedElement, ...]:
    """What is placed in a line, and a word over the first note of its box."""
    low = box_times(line)[0]
    bar = line.bar_at(low)
    said = TimedElement(bar, low - line.bars[bar].start, Direction.of(Words(word, ITALIC)))
    return tuple(sorted((*placed, said), key=lambda one: (one.bar, one.onset, one.graces)))
