"""Drills on a box: the shift alone, the crossing on open strings, the widest leap, the double stop taken apart.

How each is played: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import Instrument
from excerpts.notes.model import Event, Head, Voice
from excerpts.score.called import UNPRINTED
from excerpts.technique import find_places as places
from excerpts.technique.find_places import NoteStep
from excerpts.technique.setting import Note, set_drill
from excerpts.variants.passage import box_times, take_box

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
        assumed: The strings are a guess of the rule: neither fingers nor string numbers tell them.
    """

    kind: DrillKind
    music: Excerpt
    bar: str
    assumed: bool = False


def drills(
    excerpt: Excerpt, player: Instrument, why: Collection[str] = (), most: int = 1
) -> tuple[Drill, ...]:
    """Make the drills that a box gives.

    Args:
        excerpt: The box with its context.
        player: The instrument, for its strings.
        why: Faults of the box: their drills come first.
        most: How many, at most.

    Returns:
        The drills; none where the box has no step wide enough, no crossing and no double stop, or where several
        voices sound in it.
    """
    try:
        line = take_box(excerpt)
    except VariantError:
        return ()
    start, end = box_times(line)
    events = [event for event in line.events if not event.is_rest and start <= event.onset <= end]
    wanted = [kind for fault in why for kind in FOR_FAULTS.get(fault, ())]
    kinds = list(dict.fromkeys([*wanted, *KINDS]))
    made = (_MAKERS[kind](line, events, player) for kind in kinds)
    return tuple(drill for drill in made if drill is not None)[:most]


def _shift(line: Voice, events: Sequence[Event], player: Instrument) -> Drill | None:
    """Each note by itself, both in one bow, quicker, and as it ends: the new note held."""
    step = max(places.shifts(places.steps(events), player), key=lambda found: found.semitones, default=None)
    return _of_two("shift", line, step) if step else None


def _leap(line: Voice, events: Sequence[Event], player: Instrument) -> Drill | None:
    step = places.widest(places.steps(events))
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


def _crossing(line: Voice, events: Sequence[Event], player: Instrument) -> Drill | None:
    """The two open strings in turn, two to a bow, and then the notes themselves."""
    found = places.crossings(places.steps(events), player)
    if not found:
        return None
    step = found[0].step
    low, high = ((Head(player.strings[index]),) for index in found[0].strings)
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
    return Drill("crossing", music, _bar(line, step.before), assumed=not found[0].told)


def _double_stop(line: Voice, events: Sequence[Event], player: Instrument) -> Drill | None:
    """The lower note, the upper note, both: the lower is tuned first."""
    stops = places.double_stops(events)[:_MOST_STOPS]
    if not stops:
        return None
    bars: list[list[Note]] = []
    for stop in stops:
        low, high = sorted(stop.heads, key=lambda head: head.pitch.midi if head.pitch else 0)
        bars += [[((low,), 2, ""), ((high,), 2, "")], [((low, high), 4, "")]]
    return Drill("double-stop", set_drill(line, stops[0], bars), _bar(line, stops[0]))


_MAKERS: Final[dict[DrillKind, Callable[[Voice, Sequence[Event], Instrument], Drill | None]]] = {
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
