"""How far the music makes each rule count at each note: speed, beats, slurs, rests, repeated notes, bariolage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.hand_note import HandNote
from excerpts.lefthand.rules import WHENS, Table

_SHORT: Final = 0.15
_LONG: Final = 0.75
"""Seconds up to which a note is no long one, and from which it is as long as any."""

_FASTEST: Final = 0.12
"""Seconds between two notes that are as fast as any."""

_REST: Final = 0.2
"""Seconds of rest in which the hand is free to move."""

_PEDAL: Final = 0.25
"""Seconds of the longest note of a bariolage."""

_NEAR: Final = 17
"""Semitones from the note that returns to the others of a bariolage, at most."""


def moments(notes: Sequence[HandNote], player: Instrument, wishes: frozenset[str]) -> Table:
    """A row for each note, a column for each of `WHENS`.

    Args:
        notes: The notes.
        player: Whose strings.
        wishes: The columns that the teacher's wishes turn on.
    """
    pedal = pedals(notes, player)
    rows = np.zeros((len(notes), len(WHENS)))
    for index, note in enumerate(notes):
        before = notes[index - 1] if index else None
        gap = note.time - before.time if before else 2.0
        fast = min(1.0, _FASTEST / max(gap, 0.03))
        bound = float(before is not None and note.silence <= _REST)
        slow = min(1.0, max(0.0, (note.seconds - _SHORT) / (_LONG - _SHORT)))
        again = before is not None and note.key == before.key
        values = {
            "always": 1.0,
            "bound": bound,
            "bound_fast": bound * fast,
            "bound_offbeat": bound * (not note.on_beat),
            "bound_step": bound * _is_step(before, note),
            "bound_unhurried": bound * (1 - fast),
            "bound_slurred": bound * note.slurred,
            "slurred": note.slurred,
            "slow": slow,
            "brisk": 1 - slow,
            "new": not again,
            "again": again,
            "pedal": pedal[index],
            "pedal_edge": index > 0 and pedal[index] != pedal[index - 1],
            "trill": note.trill,
            **dict.fromkeys(wishes, 1.0),
        }
        rows[index] = [values.get(name, 0.0) for name in WHENS]
    return rows


def _is_step(before: HandNote | None, note: HandNote) -> bool:
    """Whether two single notes are at most a tone apart."""
    if before is None or len(before.key) > 1 or len(note.key) > 1:
        return False
    return abs(note.key[0] - before.key[0]) <= 2


def pedals(notes: Sequence[HandNote], player: Instrument) -> list[bool]:
    """Bariolage: which notes are an open string's pitch that returns every 2 to 4 fast notes while others move."""
    opens = {int(string.midi) for string in player.strings}
    heights = [note.key[0] if len(note.key) == 1 else None for note in notes]
    returning = [False] * len(notes)
    for period in (2, 3, 4):
        for index, note in enumerate(notes):
            height = heights[index]
            beside = returning[max(0, index - 1) : index + 2]
            if height not in opens or height is None or note.seconds > _PEDAL or any(beside):
                continue
            returning[index] = _returns(heights, index, period, height)
    return returning


def _returns(heights: Sequence[int | None], index: int, period: int, height: int) -> bool:
    def at(place: int) -> int | None:
        return heights[place] if 0 <= place < len(heights) else None

    back = sum(at(index + period * turn) == height for turn in (-2, -1, 1, 2))
    between = [
        {at(index + step + period * turn) for turn in (-2, -1, 0, 1)} - {None} for step in range(1, period)
    ]
    moving = any(others - {height} for others in between)
    near = all(abs(other - height) <= _NEAR for others in between for other in others if other is not None)
    if back < 3 or not moving or not near:
        return False
    if period > 2:
        return True
    own = [at(index + 2 * turn) == height for turn in range(-3, 4)]
    others = [at(index + 1 + 2 * turn) == height for turn in range(-4, 4)]
    return sum(own) > sum(others)  # of two that return, the one that stays
