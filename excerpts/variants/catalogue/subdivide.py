"""Subdivide: every note as so many of the shortest value as it lasts, in one bow, with a pulse on each.

The bars stay full. String teachers' common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, Voice
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import held
from excerpts.variants.new_slurs import separate_bows
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.runs import is_even
from excerpts.variants.spanning_marks import add_mark, at_the_heads, map_marks
from excerpts.variants.stretch_groups import plain_copy
from excerpts.variants.strokes_of_bow import DASH, add_slur

_SHORTEST: Final = Fraction(1, 4)
"""A semiquaver in quarter notes: finer pulses are not felt."""


def subdivide(line: Voice, parameter: str) -> Voice:
    """Write the notes in pulses of the shortest one.

    Raises:
        VariantError: All notes are of one length, or there is no pulse that goes into all of them.
    """
    del parameter
    low, high = box_times(line)
    inside = [i for i, e in enumerate(line.events) if is_even(e) and low <= e.onset and e.end <= high]
    lengths = {line.events[index].duration for index in inside}
    unit = max(min(lengths, default=Fraction(0)), _SHORTEST)
    if len(lengths) < 2 or not is_binary(unit) or all(one <= unit for one in lengths):
        raise VariantError(
            f"subdivide needs long notes between short ones; {box_bars(line)}: "
            + ("all are of one length." if len(lengths) < 2 else "the short ones are not a plain pulse."),
            where=where(line),
            hint="Choose another variant ('count-aloud', 'one-pitch') or other bars.",
        )
    parted = {i for i in inside if line.events[i].duration > unit and line.events[i].duration % unit == 0}
    if not parted:
        raise VariantError(
            f"subdivide: no note of {box_bars(line)} is a whole number of the shortest ones.",
            where=where(line),
            hint="Choose another variant ('count-aloud', 'one-pitch') or other bars.",
        )
    plain = separate_bows(line)
    events, report = without_ornaments(plain, plain.events, parted, "no time in the pulses")
    onsets = {line.events[index].onset for index in parted}
    made: tuple[Event, ...] = ()
    for event in events:
        if event.onset in onsets and not event.grace and event.duration:
            made = _pulsed(made, event, unit)
        else:
            made = (*made, event)
    return at_the_heads(replace(plain, events=made, report=plain.report + report))


def _pulsed(made: tuple[Event, ...], event: Event, unit: Fraction) -> tuple[Event, ...]:
    """Add a note in pulses to the events."""
    first = len(made)
    whole = held(map_marks((event,), lambda _, mark: None if mark.name in _AT_THE_END else mark)[0])
    for number in range(int(event.duration / unit)):
        copy = whole if not number else plain_copy(whole)
        made = (*made, replace(copy, onset=event.onset + number * unit, duration=unit))
        if not any(mark == DASH for mark in made[-1].heads[0].marks):
            made = add_mark(made, len(made) - 1, DASH)
    return add_slur(made, first, len(made) - 1)


_AT_THE_END: Final = {"fermata", "accent", "strong-accent", "tenuto"}


VARIANT = Variant(VariantInfo("subdivide", ("rhythm", "reading"), order=87), on_line=subdivide)
