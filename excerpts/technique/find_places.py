"""Finds what a drill is made of in the notes of a box: shifts, crossings, the widest leap, double stops."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from excerpts.instruments.fingerboard import finger_of, hands, string_of
from excerpts.instruments.instrument import Instrument
from excerpts.notes.model import Event

LEAST_LEAP: Final = 5
"""Semitones from which a leap is worth a drill: a fourth."""


@dataclass(frozen=True, slots=True)
class NoteStep:
    """Two notes that follow each other, as they stand in the box."""

    before: Event
    after: Event

    @property
    def semitones(self) -> int:
        """How far apart they are."""
        first, second = self.before.heads[0].pitch, self.after.heads[0].pitch
        return int(abs(first.midi - second.midi)) if first and second else 0


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two neighbouring notes on different strings.

    Attributes:
        step: The notes.
        strings: The strings of the two, by index from the lowest.
        told: Whether the music tells both; else the rule guessed.
    """

    step: NoteStep
    strings: tuple[int, int]
    told: bool


def steps(events: Sequence[Event]) -> list[NoteStep]:
    """Every two single notes that follow each other without a rest between."""
    return [
        NoteStep(before, after)
        for before, after in pairwise(events)
        if _single(before) and _single(after) and before.end == after.onset
    ]


def _single(event: Event) -> bool:
    return len(event.heads) == 1 and event.heads[0].pitch is not None and not event.grace and not event.hidden


def shifts(note_steps: Sequence[NoteStep], player: Instrument) -> Iterator[NoteStep]:
    """The steps in which the hand moves along the string, as the fingers tell.

    It does where one finger goes to another place of its string, and where no one place of the hand has both
    fingers on their notes.
    """
    for step in note_steps:
        first, second = step.before.heads[0], step.after.heads[0]
        before, after = hands(first, player), hands(second, player)
        if not before or not after or not step.semitones:
            continue
        one, other = string_of(first, player), string_of(second, player)
        same_string = one is not None and other is not None and one.index == other.index
        slides = same_string and finger_of(first) == finger_of(second)
        if slides or not before & after:
            yield step


def crossings(note_steps: Sequence[NoteStep], player: Instrument) -> list[Crossing]:
    """The steps from one string to another, those between the two strings that are changed most first."""
    crossed = [crossing for step in note_steps if (crossing := _crossing(step, player))]
    often = Counter(frozenset(crossing.strings) for crossing in crossed)
    return sorted(crossed, key=lambda crossing: -often[frozenset(crossing.strings)])


def _crossing(step: NoteStep, player: Instrument) -> Crossing | None:
    first, second = (string_of(event.heads[0], player) for event in (step.before, step.after))
    if first is None or second is None or first.index == second.index:
        return None
    return Crossing(step, (first.index, second.index), first.told and second.told)


def widest(note_steps: Sequence[NoteStep]) -> NoteStep | None:
    """The widest leap, the first of them; None where all are smaller than a fourth."""
    leap = max(note_steps, key=lambda step: step.semitones, default=None)
    return leap if leap is not None and leap.semitones >= LEAST_LEAP else None


def double_stops(events: Sequence[Event]) -> list[Event]:
    """The double stops of two notes, each pair of pitches once."""
    seen: dict[tuple[str, ...], Event] = {}
    for event in events:
        if len(event.heads) == 2 and not event.grace and all(head.pitch for head in event.heads):
            seen.setdefault(tuple(str(head.pitch) for head in event.heads), event)
    return list(seen.values())
