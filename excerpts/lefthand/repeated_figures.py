"""The same figure gets the same fingers: notes that stand in the same surroundings as earlier ones.

A note repeats an earlier one where three notes before and after it are the same. A beat is in sequence with the beat
before it where its rhythm and its steps up and down are the same, and it is no plain scale. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from excerpts.lefthand.hand_note import HandNote
from excerpts.lefthand.hand_places import Place
from excerpts.lefthand.path import Chain
from excerpts.lefthand.rules import Table

_AROUND: Final = 3
_REPEATED: Final = 0.8
_IN_SEQUENCE: Final = 0.5
"""What it costs not to do as before, for each note: so much nearer the costs must be."""

_LEAST: Final = 3
"""Notes of a figure, at least."""


def alike(
    notes: Sequence[HandNote], chain: Chain, first: Sequence[tuple[Place, tuple[float, ...]]]
) -> dict[int, Table]:
    """What the places of notes cost that are not as those of the notes they repeat.

    Args:
        notes: The notes.
        chain: Their places.
        first: The path through them before figures are looked for.
    """
    costs: dict[int, Table] = {}
    for index, model in repeats(notes).items():
        wanted = first[model][0].stops
        costs[index] = _unlike([place.stops != wanted for place in chain.choices[index].places], _REPEATED)
    for index, model in sequences(notes).items():
        fingers = [stop.finger for stop in first[model][0].stops]
        if index not in costs:
            places = chain.choices[index].places
            costs[index] = _unlike(
                [[stop.finger for stop in place.stops] != fingers for place in places], _IN_SEQUENCE
            )
    return costs


def _unlike(differs: Sequence[bool], cost: float) -> Table:
    return np.array(differs, dtype=float) * cost


def repeats(notes: Sequence[HandNote]) -> dict[int, int]:
    """For each note in the surroundings of an earlier one, the first such."""
    known: dict[tuple[object, ...], int] = {}
    earlier: dict[int, int] = {}
    for index in range(_AROUND, len(notes) - _AROUND):
        around = notes[index - _AROUND : index + _AROUND + 1]
        first = known.setdefault(tuple((n.pitches, n.given, n.duration, n.on_beat) for n in around), index)
        if first < index - _AROUND:
            earlier[index] = first
    return earlier


def sequences(notes: Sequence[HandNote]) -> dict[int, int]:
    """For each note of a beat in sequence with the beat before it, the note there."""
    starts = [index for index, note in enumerate(notes) if note.on_beat] + [len(notes)]
    beats = [range(start, end) for start, end in zip(starts, starts[1:], strict=False)]
    models: dict[int, int] = {}
    for before, here in zip(beats, beats[1:], strict=False):
        shape = _shape(notes, here)
        if shape and shape == _shape(notes, before):
            models |= {index: models.get(model, model) for index, model in zip(here, before, strict=True)}
    return models


def _shape(notes: Sequence[HandNote], beat: range) -> tuple[object, ...]:
    """What makes a figure: its rhythm and its intervals; nothing where it is too short, or goes one way by steps."""
    group = [notes[index] for index in beat]
    if len(group) < _LEAST or any(len(note.key) > 1 for note in group):
        return ()
    moves = [after.key[0] - before.key[0] for before, after in zip(group, group[1:], strict=False)]
    if all(0 < move <= 2 for move in moves) or all(-2 <= move < 0 for move in moves):
        return ()
    return (tuple(note.duration for note in group), tuple(moves))
