"""Bursts: a few notes up to tempo, then a stop; the group takes twice its time. Even notes, else figures of a beat.

With groups of k notes and a source value of 1: stop after the last note = k notes of 1 as written, then a rest of k,
which is sooner read than a last note of k + 1, tied over the beat; stop on the first = k + 1, then k - 1 notes of 1;
landing = k notes of 1, then the next group's first note for k, which is played again as the start of that group.
Triplets stay triplets. String teachers' common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, Voice
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import held, unprinted
from excerpts.variants.groups import Group, even_groups, group_time, mixed_groups
from excerpts.variants.new_signs import signed_anew
from excerpts.variants.new_slurs import dropped_slurs
from excerpts.variants.ratios import no_run
from excerpts.variants.rebar import Item, silence
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import SlurSpan, map_marks, slurs
from excerpts.variants.stretch_groups import plain_copy, regroup
from excerpts.variants.strokes_of_bow import add_slur

_STOPS: Final = ("stop-last", "stop-first", "landing")
_LARGEST: Final = 16
_SHOWN: Final = ("2", "3", "4", "8", "4:stop-first", "4:landing", "4:from-3")


@dataclass(frozen=True, slots=True)
class Burst:
    """How many notes, where the stop is, and with which note of a group the first burst begins (from 1)."""

    size: int = 4
    stop: str = "stop-last"
    start: int = 1


def read_burst(parameter: str) -> Burst:
    """Read "4", "3:stop-first", "4:landing:from-2".

    Raises:
        VariantError: A piece of it makes no sense.
    """
    size, stop, start = 4, "stop-last", 1
    for piece in filter(None, (piece.strip() for piece in parameter.split(":"))):
        origin = re.fullmatch(r"from-(\d{1,2})", piece)
        if re.fullmatch(r"\d{1,2}", piece):
            size = int(piece)
        elif piece in _STOPS:
            stop = piece
        elif origin:
            start = int(origin[1])
        else:
            raise VariantError(
                f"{piece!r} in 'burst:{parameter}' makes no sense.",
                hint=f"Write how many notes, then {', '.join(_STOPS)} and from-2, as you need: burst:4:stop-first.",
            )
    if not 2 <= size <= _LARGEST:
        raise VariantError(f"a burst has 2 to {_LARGEST} notes, not {size}.", hint="Write burst:4.")
    if not 1 <= start <= size:
        raise VariantError(
            f"a burst of {size} cannot begin with note {start} of a group.",
            hint=f"Give from-1 to from-{size}.",
        )
    return Burst(size, stop, start)


def check(parameter: str) -> None:
    """Refuse a parameter that makes no sense.

    Raises:
        VariantError: It is no number of notes, or an unknown stop, or a start outside the group.
    """
    read_burst(parameter)


def burst(line: Voice, parameter: str) -> Voice:
    """Stop after each burst for as long as the burst lasts.

    Raises:
        VariantError: No run has two bursts in it, and there are no two figures of so many notes.
    """
    wanted = read_burst(parameter)
    skip = wanted.start - 1

    def find(source: Voice) -> list[Group]:
        even = [
            group for group in even_groups(source, wanted.size, skip) if is_binary(group_time(source, group))
        ]
        return even if even or skip else mixed_groups(source, wanted.size)

    if not find(line):
        raise no_run(line, "burst" + (f":{parameter}" if parameter else ""), 2 * wanted.size, wanted.size)

    def make(notes: Sequence[Event], following: Event | None) -> list[Item]:
        plain = [Item(unprinted(note), note.duration) for note in notes]
        stop = sum((item.length for item in plain), Fraction(0))
        if wanted.stop == "landing" and following is not None:
            return [*plain, Item(held(plain_copy(following, keep_fingers=True)), stop)]
        if wanted.stop == "stop-first":
            return [Item(held(notes[0]), plain[0].length + stop), *plain[1:]]
        return [*plain, silence(stop, notes[-1])]

    lasts = {group.notes[-1] for group in find(line)}
    if wanted.stop == "landing":
        line = _without_slurs_over(line, lasts)
    elif wanted.stop == "stop-last":
        line = _parted_slurs(line, lasts)
    return regroup(line, find, make, moves=wanted.stop != "landing")


def _without_slurs_over(line: Voice, lasts: set[int]) -> Voice:
    """The line without slurs that would go on over a landing to the same note again, like a tie."""
    over = _slurs_over(line, lasts)
    report = line.report + dropped_slurs(line, over, "goes over a landing")
    return replace(line, events=_without(line.events, over), report=report)


def _parted_slurs(line: Voice, lasts: set[int]) -> Voice:
    """The line with its slurs parted at the rests that will stand after these notes; strokes alternate on."""
    over = _slurs_over(line, lasts)
    events = _without(line.events, over)
    for slur in over:
        notes = [note for note in range(slur.start, slur.stop + 1) if not line.events[note].is_rest]
        first = slur.start
        for note, following in pairwise([*notes, slur.stop]):
            if note in lasts or note == slur.stop:
                events = add_slur(events, first, note) if first < note else events
                first = following
    varied = {note for slur in over for note in range(slur.start, slur.stop + 1)}
    report = line.report + dropped_slurs(line, over, "goes over a stop")
    made = replace(line, events=events, report=report)
    return signed_anew(made, line.events, varied) if varied else made


def _slurs_over(line: Voice, lasts: set[int]) -> list[SlurSpan]:
    """The slurs that go on after one of these notes."""
    return [slur for slur in slurs(line.events) if any(slur.start <= last < slur.stop for last in lasts)]


def _without(events: tuple[Event, ...], over: Sequence[SlurSpan]) -> tuple[Event, ...]:
    gone = {end for slur in over for end in slur.ends}
    return map_marks(events, lambda end, mark: None if (end.event, mark) in gone else mark)


VARIANT = Variant(
    VariantInfo(
        "burst",
        ("speed", "crossing", "coordination"),
        parameter="NOTES[:STOP][:from-N]",
        order=70,
        kind="rhythm",
        shown=_SHOWN,
    ),
    on_line=burst,
    check=check,
)
