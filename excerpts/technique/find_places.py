"""Finds what a drill is made of in the notes of a box: shifts, crossings, the widest leap, double stops."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from excerpts.instruments.fingerboard import StringOf, string_of
from excerpts.instruments.instrument import Instrument
from excerpts.notes.model import Event, Head, Voice
from excerpts.variants.position_changes import position_changes, proposed_changes

LEAST_LEAP: Final = 5
"""Semitones from which a leap is worth a drill: a fourth."""


@dataclass(frozen=True, slots=True)
class NoteStep:
    """Two notes that follow each other, as they stand in the box."""

    before: Event
    after: Event

    @property
    def heads(self) -> tuple[Head, Head]:
        """Both noteheads."""
        return self.before.heads[0], self.after.heads[0]

    @property
    def semitones(self) -> int:
        """How far apart they are."""
        first, second = (head.pitch for head in self.heads)
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


def shifts(line: Voice, note_steps: Sequence[NoteStep], player: Instrument) -> tuple[list[NoteStep], bool]:
    """The steps in which the hand changes its position, and whether they are a guess.

    As the page tells them; where it tells none, as a proposed fingering has them.
    """
    if not note_steps:
        return [], False
    printed = position_changes(line, player)
    changes = printed or proposed_changes(line, player)
    pairs = {(id(line.events[one]), id(line.events[other])) for one, other in changes}
    moved = [step for step in note_steps if step.semitones and (id(step.before), id(step.after)) in pairs]
    return moved, not printed


_NAMED: Final = re.compile(r"\b([A-H])([♯♭#b]| ?sharp| ?flat)? ?(?:to|nach|auf|zu|[-–→]) ?([A-H])(?![a-z])")
"""Two notes that a teacher names: "from E to F", "von E nach F", "E–F"."""


def meant(note_steps: Sequence[NoteStep], line: Voice, note: str) -> Sequence[NoteStep]:
    """The steps that the teacher means: those that the note names, else those at fingers of the teacher's; else all."""
    named = {(_letter(pair[1]), _letter(pair[3])) for pair in _NAMED.finditer(note)}
    fingered = {
        one.bar for one in line.report if one.thing == "teacher-mark" and one.detail.startswith("finger")
    }
    by_note = [
        step for step in note_steps if tuple(head.pitch.step for head in step.heads if head.pitch) in named
    ]
    by_finger = [step for step in note_steps if line.bars[line.bar_at(step.after.onset)].label in fingered]
    return by_note or by_finger or note_steps


def _letter(name: str) -> str:
    """A note's letter; H is B in German."""
    return "B" if name == "H" else name


def crossings(line: Voice, note_steps: Sequence[NoteStep], player: Instrument) -> list[Crossing]:
    """The steps from one string to another, those between the two strings that are changed most first."""
    from excerpts.lefthand.strings import hand_of  # which loads numpy

    hand = hand_of(line, player) if note_steps else None
    proposed = {} if hand is None else {id(e): hand.strings(i) for i, e in enumerate(line.events)}
    crossed = [crossing for step in note_steps if (crossing := _crossing(step, player, proposed))]
    often = Counter(frozenset(crossing.strings) for crossing in crossed)
    return sorted(crossed, key=lambda crossing: -often[frozenset(crossing.strings)])


def _crossing(
    step: NoteStep, player: Instrument, proposed: Mapping[int, Sequence[StringOf]]
) -> Crossing | None:
    first, second = (_string(event, player, proposed) for event in (step.before, step.after))
    if first is None or second is None or first.index == second.index:
        return None
    return Crossing(step, (first.index, second.index), first.told and second.told)


def _string(event: Event, player: Instrument, proposed: Mapping[int, Sequence[StringOf]]) -> StringOf | None:
    """The string that the music tells, else that of the proposed fingering."""
    printed = string_of(event.heads[0], player)
    guessed = proposed.get(id(event), ())
    return guessed[0] if guessed and (printed is None or not printed.told) else printed


def leaps(note_steps: Sequence[NoteStep]) -> list[NoteStep]:
    """The steps of a fourth and more."""
    return [step for step in note_steps if step.semitones >= LEAST_LEAP]


def widest(line: Voice, note_steps: Sequence[NoteStep], player: Instrument) -> NoteStep | None:
    """The leap that is the farthest for the hand, by positions and skipped strings; of equal ones that of the notes."""
    if len(note_steps) < 2:
        return next(iter(note_steps), None)
    from excerpts.lefthand.strings import hand_of  # which loads numpy

    hand, at = hand_of(line, player), {id(event): index for index, event in enumerate(line.events)}
    return max(
        note_steps,
        key=lambda step: (hand.reach(at[id(step.before)], at[id(step.after)]), step.semitones),
    )


def double_stops(events: Sequence[Event]) -> list[Event]:
    """The double stops of two notes, each pair of pitches once."""
    seen: dict[tuple[str, ...], Event] = {}
    for event in events:
        if len(event.heads) == 2 and not event.grace and all(head.pitch for head in event.heads):
            seen.setdefault(tuple(str(head.pitch) for head in event.heads), event)
    return list(seen.values())
