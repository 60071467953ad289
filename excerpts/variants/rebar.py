"""Writes a line anew in bars of other lengths: for rhythms that make groups longer, chains and repeats.

Whatever is in force at a note in the source (key, clef, transposition) is in force where it stands now.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import BarRef, Box, Position
from excerpts.musicxml.elements import HIDDEN, Barline, MeasureTag, Sign, Signatures, Time
from excerpts.musicxml.format import attributes_rank
from excerpts.notes import Event, TimedElement, Voice
from excerpts.variants.clipping import unprinted
from excerpts.variants.directions import without_offset

_LOST: Final = {"attributes", "barline", "print"}
"""Things of the source's bars that have no place in new ones; attributes are written anew."""


@dataclass(frozen=True, slots=True)
class Item:
    """A note or rest of the new line.

    Attributes:
        event: As in the source, with its marks; its onset there tells what is in force.
        length: Its new length in quarter notes.
        outside: It is not practised: the arrival note, and rests around the box.
    """

    event: Event
    length: Fraction
    outside: bool = False


@dataclass(frozen=True, slots=True)
class NewBar:
    """A bar of the new line.

    Attributes:
        length: In quarter notes.
        time: Its time signature; None leaves the one before.
        last: A double bar follows.
    """

    length: Fraction
    time: Sign | None = None
    last: bool = False


def silence(length: Fraction, like: Event, outside: bool = False) -> Item:
    """A rest in the voice and staff of an event."""
    return Item(Event(like.onset, length, voice=like.voice, staff=like.staff), length, outside)


def time_signature(numerator: int, unit: int, shown: bool = True) -> Time:
    """A time signature."""
    return Time(((str(numerator), str(unit)),), () if shown else HIDDEN)


def signature_of(length: Fraction, ternary: bool = False, shown: bool = True) -> Time:
    """A time signature for a bar of any length that halving reaches, in quavers where beats are dotted."""
    unit = max(8 if ternary else 4, 4 * length.denominator)
    return time_signature(int(length * unit / 4), unit, shown)


def source_time(line: Voice, bar: int) -> Sign | None:
    """The time signature in force in a bar of the source; None where there is none."""
    time: Sign | None = None
    for placed in line.placed:
        if isinstance(placed.sign, Signatures) and placed.bar <= bar:
            time = next(iter(placed.sign.of("time")), time)
    return time


def rebar(line: Voice, items: Sequence[Item], bars: Sequence[NewBar], moves: bool = True) -> Voice:
    """The line of new items in new bars.

    Args:
        line: The source.
        items: What sounds, one after the other; it fills the bars exactly.
        bars: The new bars.
        moves: Each note of the source stands once, in order: directions move with the notes. Otherwise only
            what stands at the first note is kept.

    Raises:
        ArithmeticError: The items do not fill the bars.
    """
    starts = _onsets([item.length for item in items])
    edges = _onsets([bar.length for bar in bars])
    if starts[-1] != edges[-1]:
        raise ArithmeticError(f"{starts[-1]} quarter notes for bars of {edges[-1]}")
    new_bars, tags = _bars(line, items, starts, bars, edges)
    events = tuple(_event(item, onset) for item, onset in zip(items, starts, strict=False))
    placed = [*_attributes(line, items, starts, bars, edges), *_directions(line, items, starts, edges, moves)]
    placed += [
        TimedElement(index, bar.length, Barline("light-light")) for index, bar in enumerate(bars) if bar.last
    ]
    return replace(
        line,
        events=events,
        bars=new_bars,
        measures=tags,
        placed=in_place(placed),
        boxes=(_box(items, starts, edges),),
        open_ends=(),
    )


def in_place(placed: Iterable[TimedElement]) -> tuple[TimedElement, ...]:
    """What is placed in order of time; attributes come first, barlines last."""
    rank = {"attributes": 0, "barline": 2}
    return tuple(sorted(placed, key=lambda one: (one.bar, one.onset, rank.get(one.name, 1))))


def _onsets(lengths: Sequence[Fraction]) -> list[Fraction]:
    """Where each thing starts, and the end of all."""
    onsets = [Fraction(0)]
    for length in lengths:
        onsets.append(onsets[-1] + length)
    return onsets


def _event(item: Item, onset: Fraction) -> Event:
    if item.event.duration == item.length and (not item.event.is_rest or _in_tuplet(item.event)):
        return replace(item.event, onset=onset)
    event = unprinted(item.event)
    heads = tuple(
        head
        if head.duration is None
        else replace(head, duration=head.duration * item.length / event.duration)
        for head in event.heads
    )
    return replace(event, onset=onset, duration=item.length, heads=heads, full_bar=False)


def _in_tuplet(rest: Event) -> bool:
    """Whether a rest belongs to the notes beside it; other rests are written as the new bars want them."""
    return bool(rest.printed) and all(printed.modification for printed in rest.printed)


def _bars(
    line: Voice,
    items: Sequence[Item],
    starts: Sequence[Fraction],
    bars: Sequence[NewBar],
    edges: Sequence[Fraction],
) -> tuple[tuple[BarRef, ...], tuple[MeasureTag, ...]]:
    """Bars that begin as a bar of the source show its number; the others hide the one that they go on from."""
    first = {start: item for item, start in reversed(list(zip(items, starts, strict=False)))}
    made: list[BarRef] = []
    tags: list[MeasureTag] = []
    place, label, extra = line.bars[0].place, line.bars[0].label, 0
    for bar, start in zip(bars, edges, strict=False):
        item = first.get(start)
        source = line.bars[line.bar_at(item.event.onset)] if item else None
        known = source is not None and item is not None and source.start == item.event.onset
        if source is not None:
            place, label = source.place, source.label
        extra += not known
        made.append(BarRef(place, label, start, bar.length))
        implicit = not known or label.startswith("X") or label == "0"
        tags.append(MeasureTag(label if known else f"X{extra}", implicit))
    return tuple(made), tuple(tags)


def _box(items: Sequence[Item], starts: Sequence[Fraction], edges: Sequence[Fraction]) -> Box:
    inside = [place for place, item in enumerate(items) if not item.outside]
    start, end = starts[inside[0]], starts[inside[-1] + 1]
    return Box(_position(edges, start), _position(edges, end, closing=True))


def _position(edges: Sequence[Fraction], time: Fraction, closing: bool = False) -> Position:
    """A time as bar and onset; the end of a bar, not the start of the next, when `closing`."""
    last = len(edges) - 2
    bar = max(i for i, edge in enumerate(edges[:-1]) if edge < time or (edge == time and not (closing and i)))
    return Position(min(bar, last), time - edges[min(bar, last)])


def _in_force(line: Voice, time: Fraction) -> dict[str, Sign]:
    """Key, clefs and the like in force at a time of the source, by element and its number."""
    state: dict[str, Sign] = {}
    for placed in line.placed:
        if isinstance(placed.sign, Signatures) and line.time_of(placed) <= time:
            for sign in placed.sign.content:
                if sign.name != "time":
                    state[f"{sign.name} {dict(sign.look).get('number', '')}"] = sign
    return state


def _attributes(
    line: Voice,
    items: Sequence[Item],
    starts: Sequence[Fraction],
    bars: Sequence[NewBar],
    edges: Sequence[Fraction],
) -> list[TimedElement]:
    """Attributes wherever key, clef or time change in the new line."""
    wanted: dict[Fraction, dict[str, Sign]] = {}
    state: dict[str, Sign] = {}
    cache: dict[Fraction, dict[str, Sign]] = {}
    for item, start in zip(items, starts, strict=False):
        at = item.event.onset
        now = cache.setdefault(at, _in_force(line, at))
        changed = {key: sign for key, sign in now.items() if state.get(key) != sign}
        if changed and (not item.event.is_rest or not state):
            wanted.setdefault(start, {}).update(changed)
            state.update(changed)
    time: Sign | None = None
    for bar, edge in zip(bars, edges, strict=False):
        own = bar.time and _as_the_source(line, bar.time, items[max(0, bisect_right(starts, edge) - 1)])
        if own and own != time:
            time = own
            wanted.setdefault(edge, {})["time"] = time
    return [_attributes_at(edges, start, list(children.values())) for start, children in wanted.items()]


def _as_the_source(line: Voice, time: Sign, item: Item) -> Sign | None:
    """A time signature for a bar that begins with an item; the source's where that has none or is free there."""
    there = source_time(line, line.bar_at(item.event.onset))
    return there if there is None or (isinstance(there, Time) and not there.pairs) else time


def _attributes_at(edges: Sequence[Fraction], start: Fraction, signs: list[Sign]) -> TimedElement:
    position = _position(edges, start)
    return TimedElement(position.bar, position.onset, in_order(signs))


def in_order(signs: Iterable[Sign]) -> Signatures:
    """Signatures in the order of the format."""
    return Signatures(tuple(sorted(signs, key=lambda sign: attributes_rank(sign.name))))


def _directions(
    line: Voice, items: Sequence[Item], starts: Sequence[Fraction], edges: Sequence[Fraction], moves: bool
) -> list[TimedElement]:
    """Directions at the notes that they stood at; what stops there ends with the note before."""
    wanted = [placed for placed in line.placed if placed.name not in _LOST]
    if not moves:
        return _at_the_first_note(line, wanted, items, starts, edges)
    moved: list[TimedElement] = []
    for placed in wanted:
        new = _new_time(items, starts, line.time_of(placed))
        at_the_end = placed.onset == line.bars[placed.bar].length  # there a negative offset counts from
        position = _position(edges, new, closing=at_the_end or "stop" in _edges(placed))
        moved.append(replace(placed, bar=position.bar, onset=position.onset, graces=0))
    return moved


def _at_the_first_note(
    line: Voice,
    wanted: Sequence[TimedElement],
    items: Sequence[Item],
    starts: Sequence[Fraction],
    edges: Sequence[Fraction],
) -> list[TimedElement]:
    """What holds at the first note: tempo, the last dynamic, and words that stand right there.

    The tempo stands at the beginning, all else at the note: rests before it may be hidden.
    """
    place = next((at for at, item in enumerate(items) if item.event.heads), 0)
    first, note = items[place].event, _position(edges, starts[place])
    kept: dict[str, TimedElement] = {}
    for number, placed in enumerate(wanted):
        time = line.time_of(placed) + placed.offset
        loud = any(sign.name == "dynamics" for sign in placed.signs)
        drawn_back = (
            loud and placed.offset < 0 and time < first.end
        )  # it hangs on the next note, and is drawn at this one
        if _edges(placed) or (time > first.onset and not drawn_back):
            continue
        at = TimedElement(note.bar, note.onset, without_offset(placed.sign))
        if loud:
            kept["dynamics"] = at
        elif placed.tells_tempo:
            kept["tempo"] = replace(at, bar=0, onset=Fraction(0))
        elif time == first.onset:
            kept[f"word {number}"] = at
    return list(kept.values())


_STARTS: Final = {"crescendo", "diminuendo", "start", "up", "down"}


def _edges(placed: TimedElement) -> set[str]:
    """What a direction does to a hairpin or a line: "start", "stop"."""
    kinds = {getattr(sign, "type", sign.edge) for sign in placed.signs}
    return ({"start"} if kinds & _STARTS else set()) | (kinds & {"stop"})


def _new_time(items: Sequence[Item], starts: Sequence[Fraction], time: Fraction) -> Fraction:
    """Where a time of the source lies in the new line: as far into its note as before."""
    before = [
        place for place, item in enumerate(items) if item.event.duration > 0 and item.event.onset <= time
    ]
    if not before:
        return starts[0]
    event, start = items[before[-1]].event, starts[before[-1]]
    share = min(Fraction(1), (time - event.onset) / event.duration)
    return start + items[before[-1]].length * share
