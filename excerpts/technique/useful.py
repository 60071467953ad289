"""Finds the few most useful bars of a study, for a day that has no time for all of them.

Where the hands have most to do: shifts, double stops, crossings, wide leaps; what the player's boxes suffer from
counts twice. Common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.excerpt import BarRef, Excerpt
from excerpts.instruments.instrument import Instrument
from excerpts.notes.model import Event, Voice
from excerpts.technique import find_places as places
from excerpts.technique.drills import FOR_FAULTS, DrillKind
from excerpts.variants.passage import box_times, take_box

FEW: Final = 2
"""Bars that are few."""

_COUNTS: Final[dict[DrillKind, int]] = {"shift": 3, "double-stop": 2, "crossing": 1, "leap": 1}


def few_useful_bars(excerpt: Excerpt, player: Instrument, why: Collection[str] = ()) -> tuple[BarRef, ...]:
    """The few bars of a study, next to each other, that have most to offer; the first of equal ones.

    Args:
        excerpt: The study's bars as a box, with or without context.
        player: The instrument, for its strings.
        why: Faults of the player's boxes.

    Returns:
        The bars; none where the study is no longer than that, or where several voices sound in it.
    """
    try:
        line = take_box(excerpt)
    except VariantError:
        return ()
    start, end = box_times(line)
    bars = [bar for bar in line.bars if start <= bar.start and bar.end <= end]
    if len(bars) <= FEW:
        return ()
    events = [event for event in line.events if not event.is_rest and start <= event.onset < end]
    helps = {kind for fault in why for kind in FOR_FAULTS.get(fault, ())}
    worth = Counter[int]()
    for kind, onset in _found(line, events, player):
        worth[_place(bars, onset)] += _COUNTS[kind] * (2 if kind in helps else 1)
    notes = Counter(_place(bars, event.onset) for event in events)
    best = max(range(len(bars) - FEW + 1), key=lambda first: _rank(first, worth, notes))
    return tuple(bars[best : best + FEW])


def _found(line: Voice, events: Sequence[Event], player: Instrument) -> Iterator[tuple[DrillKind, Fraction]]:
    """What the hands have to do, and when."""
    steps = places.steps(events)
    yield from (("shift", step.after.onset) for step in places.shifts(line, steps, player)[0])
    yield from (("crossing", crossing.step.after.onset) for crossing in places.crossings(line, steps, player))
    yield from (("leap", step.after.onset) for step in places.leaps(steps))
    yield from (("double-stop", stop.onset) for stop in places.double_stops(events))


def _rank(first: int, worth: Counter[int], notes: Counter[int]) -> tuple[int, int, int]:
    window = range(first, first + FEW)
    return sum(worth[bar] for bar in window), sum(notes[bar] for bar in window), -first


def _place(bars: Sequence[BarRef], onset: Fraction) -> int:
    """The bar that a note stands in; -1 for one before them."""
    return sum(bar.start <= onset for bar in bars) - 1
