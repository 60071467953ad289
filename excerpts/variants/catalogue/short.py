"""Short: of a variant that goes on in one way, the rhythm, the beginning worked out, and "go on like this".

It stands last in a stack: long-short+short.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from excerpts.errors import VariantError
from excerpts.excerpt import BarRef, Box, Position
from excerpts.musicxml import elements
from excerpts.musicxml.elements import ITALIC, Barline, Direction, MeasureTag, Notehead, Signatures
from excerpts.notes import Event, Head, Notation, TimedElement, Voice
from excerpts.variants.clipping import clip, drop_loose_ties, fill_with_rests, unprinted
from excerpts.variants.passage import box_notes, box_times, where
from excerpts.variants.rebar import signature_of, source_time
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import close_spans
from excerpts.words import Words

_SLASH = Notation(Notehead("x"))


def short(line: Voice, parameter: str, words: Words) -> Voice:
    """Keep the first bar that shows the rhythm and the note that it runs into, with the rhythm of a group in front.

    Silent bars before it stay, and bars in which nothing was varied.

    Raises:
        VariantError: The box is one bar, so there is nothing to leave out.
    """
    del parameter
    low, high = box_times(line)
    onsets = [line.events[note].onset for note in box_notes(line)]
    same = {one.bar for one in line.report if one.thing == "bar-as-written"}
    varied = (onset for onset in onsets if line.bars[line.bar_at(onset)].label not in same)
    sounding = next(varied, next(iter(onsets), low))
    first = line.bar_at(sounding)
    cut = line.bars[first].end
    if cut >= high or first + 1 >= len(line.bars):
        raise VariantError(
            "'short' leaves out all bars after the first that is varied, and the variant has no more than one.",
            where=where(line),
            hint="Leave 'short' out.",
        )
    last = line.bars[first + 1]
    inside = [
        event for event in line.events if event.onset < cut and not (event.closing and event.onset == 0)
    ]
    arrival = next((e for e in line.events if e.onset == cut and not e.is_rest and not e.grace), None)
    events = [event if event.end <= cut else clip(event, event.onset, cut) for event in inside]
    if arrival is not None:
        events.append(clip(arrival, cut, min(arrival.end, last.end)))
    bars = line.bars[: first + 2]
    kept = replace(
        line,
        events=close_spans(drop_loose_ties(fill_with_rests(bars, events))),
        bars=bars,
        measures=line.measures[: first + 2],
        placed=(*_placed(line, first), _go_on(first + 1, words)),
        boxes=(Box(line.boxes[0].start, Position(first, line.bars[first].length)),) if line.boxes else (),
    )
    pattern = _pattern([event for event in inside if not event.grace and event.onset >= sounding])
    return _with_pattern(kept, pattern) if pattern else kept


def _placed(line: Voice, first: int) -> list[TimedElement]:
    """What is placed in the bars that stay; hairpins need both their ends, so they go."""
    return [
        one
        for one in line.placed
        if (one.bar <= first or (one.bar == first + 1 and one.name == "attributes" and one.onset == 0))
        and not any(sign.name in {"wedge", "dashes", "octave-shift"} for sign in one.signs)
    ]


def _go_on(bar: int, words: Words) -> TimedElement:
    go_on = elements.Words(words("variant.short-form.go_on"), ITALIC)
    return TimedElement(bar, Fraction(0), Direction.of(go_on))


def _pattern(events: list[Event]) -> list[Event]:
    """The shortest group of two notes or more whose lengths come again and again; [] where there is none."""
    lengths = [-event.duration if event.is_rest else event.duration for event in events]
    if not events or min(lengths) <= 0:
        return []
    for size in range(2, len(lengths) // 2 + 1):
        again = all(length == lengths[place % size] for place, length in enumerate(lengths))
        if again and len(set(lengths[:size])) > 1:
            return events[:size]
    return []


def _with_pattern(line: Voice, group: list[Event]) -> Voice:
    """Put a bar in front with the rhythm of a group, as crosses on the pitch of its first note."""
    length = sum((event.duration for event in group), Fraction(0))
    head = group[0].heads[0]
    crosses: list[Event] = []
    onset = Fraction(0)
    for event in group:
        plain = replace(unprinted(event), onset=onset, heads=(Head(head.pitch, (_SLASH,)),))
        crosses.append(plain)
        onset += event.duration
    bar = BarRef(line.bars[0].place, line.bars[0].label, Fraction(0), length)
    tags = line.measures or tuple(MeasureTag(one.label) for one in line.bars)
    later = tuple(replace(event, onset=event.onset + length) for event in line.events)
    return replace(
        line,
        events=(*crosses, *later),
        bars=(bar, *(replace(one, start=one.start + length) for one in line.bars)),
        measures=(MeasureTag("X0", implicit=True), *tags),
        placed=_placed_after(line, length),
        boxes=tuple(Box(_later(box.start), _later(box.end)) for box in line.boxes),
    )


def _later(position: Position) -> Position:
    return Position(position.bar + 1, position.onset)


def _placed_after(line: Voice, length: Fraction) -> tuple[TimedElement, ...]:
    """The attributes of the first bar stand in front of the pattern, with a time signature that is not shown."""
    moved = [replace(one, bar=one.bar + 1) for one in line.placed if not _is_first(one)]
    front: list[TimedElement] = []
    for one in filter(_is_first, line.placed):
        hidden = signature_of(length, shown=False)
        signs = tuple(hidden if sign.name == "time" else sign for sign in one.signatures)
        front.append(replace(one, sign=Signatures(signs)))
    signature = source_time(line, 0)
    if signature is not None:
        moved.insert(0, TimedElement(1, Fraction(0), Signatures((signature,))))
    return (*front, TimedElement(0, length, Barline("light-light")), *moved)


def _is_first(placed: TimedElement) -> bool:
    return isinstance(placed.sign, Signatures) and placed.bar == 0 and placed.onset == 0


VARIANT = Variant(VariantInfo("short", ("reading", "memory"), order=99, after="long-short"), in_words=short)
