"""Drills on a box: the shift alone, the crossing on open strings, the widest leap, the double stop taken apart.

A drill stands in bars of its own: slow, in four, in the key and clef of the place it comes from. How each is played:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal, get_args

from excerpts.errors import VariantError
from excerpts.excerpt import BarRef, Excerpt, Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.elements import Barline, Bow, Signatures, Slur, Time
from excerpts.notes import read_line, write_line
from excerpts.notes.in_force import signatures_at
from excerpts.notes.model import Event, Head, Notation, TimedElement, Voice
from excerpts.score.numbering import UNPRINTED
from excerpts.technique import find_places as places
from excerpts.technique.find_places import NoteStep
from excerpts.variants.passage import box_times, take_box
from excerpts.variants.spanning_marks import map_marks

DrillKind = Literal["shift", "double-stop", "crossing", "leap"]
KINDS: Final[tuple[DrillKind, ...]] = get_args(DrillKind)

FOR_FAULTS: Final[dict[str, tuple[DrillKind, ...]]] = {
    "shift": ("shift", "leap"),
    "crossing": ("crossing",),
    "intonation": ("double-stop", "shift", "leap"),
    "coordination": ("crossing", "leap"),
    "tone": ("double-stop", "crossing"),
}
"""Which drills help against a fault, the nearest first."""

_MOST_STOPS: Final = 4
"""Double stops of one drill, at most: a line of music."""


@dataclass(frozen=True, slots=True)
class Drill:
    """A drill.

    Attributes:
        kind: What is drilled.
        music: It in notes, in slow bars of its own.
        bar: Label of the bar that it comes from.
        assumed: Strings or positions are a guess: neither fingers nor string numbers tell them.
    """

    kind: DrillKind
    music: Excerpt
    bar: str
    assumed: bool = False


def drills(
    excerpt: Excerpt,
    player: Instrument,
    why: Collection[str] = (),
    most: int = 1,
    note: str = "",
    *,
    slurred: bool = True,
) -> tuple[Drill, ...]:
    """Make the drills that a box gives.

    Args:
        excerpt: The box with its context.
        player: The instrument, for its strings.
        why: Faults of the box: their drills come first.
        most: How many, at most.
        note: The teacher's word about the box, which may name the notes of a step ("from E to F").
        slurred: Two notes may share a bow.

    Returns:
        The drills; none where the box has no step wide enough, no crossing and no double stop, or where several
        voices sound in it.
    """
    try:
        line = take_box(excerpt)
    except VariantError:
        return ()
    start, end = box_times(line)
    events = [event for event in line.events if not event.is_rest and start <= event.onset < end]
    wanted = [kind for fault in why for kind in FOR_FAULTS.get(fault, ())]
    kinds = list(dict.fromkeys([*wanted, *KINDS]))
    made = (_MAKERS[kind](line, events, player, note) for kind in kinds)
    chosen = [drill for drill in made if drill is not None][:most]
    return tuple(chosen if slurred else map(_in_single_bows, chosen))


def _in_single_bows(drill: Drill) -> Drill:
    line = read_line(drill.music)
    events = map_marks(line.events, lambda _, mark: None if mark.name == "slur" else mark)
    return replace(drill, music=write_line(replace(line, events=events)))


def _shift(line: Voice, events: Sequence[Event], player: Instrument, note: str) -> Drill | None:
    """Each note by itself, both in one bow, quicker, and as it ends: the new note held."""
    shifts, assumed = places.shifts(line, places.steps(events), player)
    step = max(places.meant(shifts, line, note), key=lambda one: one.semitones, default=None)
    return replace(_of_two("shift", line, step), assumed=assumed) if step else None


def _leap(line: Voice, events: Sequence[Event], player: Instrument, note: str) -> Drill | None:
    leaps = places.meant(places.leaps(places.steps(events)), line, note)
    step = places.widest(line, leaps, player)
    return _of_two("leap", line, step) if step else None


def _of_two(kind: DrillKind, line: Voice, step: NoteStep) -> Drill:
    first, second = step.before.heads, step.after.heads
    bars: list[list[Note]] = [
        [(first, 2, ""), (second, 2, "")],
        [(second, 2, ""), (first, 2, "")],
        [(first, 1, "("), (second, 1, ")"), (first, 1, "("), (second, 1, ")")],
        [(first, 1, "("), (second, 3, ")")],
    ]
    return Drill(kind, set_drill(line, step.before, bars), _bar(line, step.before))


def _crossing(line: Voice, events: Sequence[Event], player: Instrument, note: str) -> Drill | None:
    """The two open strings in turn, two to a bow, and then the notes themselves."""
    del note
    crossings = places.crossings(line, places.steps(events), player)
    if not crossings:
        return None
    step = crossings[0].step
    low, high = ((Head(player.strings[index]),) for index in crossings[0].strings)
    bars: list[list[Note]] = [
        [(low, 1, ""), (high, 1, ""), (low, 1, ""), (high, 1, "")],
        [(low, 1, "("), (high, 1, ")"), (low, 1, "("), (high, 1, ")")],
        [
            (step.before.heads, 1, ""),
            (step.after.heads, 1, ""),
            (step.before.heads, 1, "("),
            (step.after.heads, 1, ")"),
        ],
        [(step.before.heads, 1, "("), (step.after.heads, 3, ")")],
    ]
    music = set_drill(line, step.before, bars)
    return Drill("crossing", music, _bar(line, step.before), assumed=not crossings[0].told)


def _double_stop(line: Voice, events: Sequence[Event], player: Instrument, note: str) -> Drill | None:
    """The lower note, the upper note, both: the lower is tuned first."""
    del player, note
    stops = places.double_stops(events)[:_MOST_STOPS]
    if not stops:
        return None
    bars: list[list[Note]] = []
    for stop in stops:
        low, high = sorted(stop.heads, key=lambda head: head.pitch.midi if head.pitch else 0)
        bars += [[((low,), 2, ""), ((high,), 2, "")], [((low, high), 4, "")]]
    return Drill("double-stop", set_drill(line, stops[0], bars), _bar(line, stops[0]))


_MAKERS: Final[dict[DrillKind, Callable[[Voice, Sequence[Event], Instrument, str], Drill | None]]] = {
    "shift": _shift,
    "double-stop": _double_stop,
    "crossing": _crossing,
    "leap": _leap,
}


def _bar(line: Voice, event: Event) -> str:
    """The number of the bar of a note; of the nearest bar before it that has a printed one, else after it."""
    place = line.bar_at(event.onset)
    near = [*reversed(line.bars[: place + 1]), *line.bars[place + 1 :]]
    return next((bar.label for bar in near if bar.label and not UNPRINTED.fullmatch(bar.label)), "")


Note = tuple[tuple[Head, ...], int, str]
"""Heads of a note or double stop, length in crotchets, and "(" where a slur begins, ")" where it ends."""

_BAR: Final = Fraction(4)
_SLOW: Final = Tempo(Fraction(60))
"""Common practice, no source: slow enough to hear each note before it comes."""


def set_drill(source: Voice, at: Event, bars: Sequence[Sequence[Note]]) -> Excerpt:
    """Write a drill.

    Args:
        source: The line it comes from.
        at: The note it is about: clef, key and transposition are those in force there.
        bars: The notes of each bar; every bar is four crotchets long.
    """
    references = tuple(
        BarRef(place, str(place), (place - 1) * _BAR, _BAR) for place in range(1, len(bars) + 1)
    )
    end = TimedElement(len(bars) - 1, _BAR, Barline("light-heavy"))
    return write_line(
        Voice(
            events=tuple(_events(bars, at)),
            bars=references,
            placed=(TimedElement(0, Fraction(0), _opening(source, at)), end),
            part=source.part,
            head=source.head,
            tempo=_SLOW,
            origin=replace(source.origin, variant="drill"),
        )
    )


def _events(bars: Sequence[Sequence[Note]], at: Event) -> Iterator[Event]:
    for place, bar in enumerate(bars):
        onset = place * _BAR
        for heads, length, slur in bar:
            yield Event(onset, Fraction(length), tuple(_heads(heads, slur)), voice=at.voice, staff=1)
            onset += length


def _heads(heads: Sequence[Head], slur: str) -> Iterator[Head]:
    for place, head in enumerate(heads):
        # Fingers, strings and harmonics stay on the notes.
        marks = [mark for mark in head.marks if mark.family == "technical" and not isinstance(mark.sign, Bow)]
        if slur and place == 0:
            edge = "start" if slur == "(" else "stop"
            marks.append(Notation(Slur(edge, "1")))
        yield Head(head.pitch, tuple(marks))


def _opening(source: Voice, at: Event) -> Signatures:
    """Key, clef and transposition in force at a note, under a time signature of four crotchets."""
    signs = {**signatures_at(source, at.onset), "time": Time((("4", "4"),))}
    return Signatures(tuple(signs[name] for name in ("key", "time", "clef", "transpose") if name in signs))
