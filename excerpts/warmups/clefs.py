"""Where a line changes its clef, so that no long stretch needs more ledger lines than players read at ease.

The rule, from common practice: one or two ledger lines are read at ease, from three on the strain grows
fast; a change costs as much as two or three notes on three ledger lines, and a little more inside a bar. A
higher clef costs a little by itself, for it is read later and less. The cheapest way wins. A line begins and
ends in the instrument's own clef wherever its outer notes can be read there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from excerpts.instruments.staff import Clef
from excerpts.musicxml.pitch import Pitch

_EASY_LEDGERS: Final = 2
_STRAIN: Final = (0, 5, 15, 100, 400, 900)
"""Strain of a note by its ledger lines; more of them count like the last."""
_PER_CHANGE: Final = 250
_INSIDE_BAR: Final = 40
_PER_PLACE: Final = 8
"""What a note costs in a higher clef: the one read later, and read less."""

_Way = tuple[int, tuple[int, ...]]
"""Strain so far, and the place of each beat's clef among the instrument's clefs."""


def choose_clefs(
    beats: Sequence[Sequence[Pitch]], clefs: Sequence[Clef], bar_starts: Sequence[bool]
) -> tuple[Clef, ...]:
    """Choose a clef for each beat.

    Args:
        beats: The pitches that start in each beat.
        clefs: What the instrument reads, from low to high; the first is its own.
        bar_starts: Whether each beat is the first of its bar.
    """
    ways: list[_Way] = [(0, ())]
    played = [index for index, pitches in enumerate(beats) if pitches]
    edges = {played[0], played[-1]}
    for index, (pitches, at_bar) in enumerate(zip(beats, bar_starts, strict=True)):
        change = _PER_CHANGE + (0 if at_bar else _INSIDE_BAR)
        open_places = _open_places(pitches, clefs) if index in edges else range(len(clefs))
        ways = [
            min(_step(way, place, change, _strain(clefs[place], place, pitches)) for way in ways)
            for place in open_places
        ]
    return tuple(clefs[place] for place in min(ways)[1])


def _open_places(pitches: Sequence[Pitch], clefs: Sequence[Clef]) -> range:
    """Only the instrument's own clef, where it serves these notes; else all."""
    easy = all(clefs[0].ledger_lines(pitch) <= _EASY_LEDGERS for pitch in pitches)
    return range(1 if easy else len(clefs))


def _step(way: _Way, place: int, change: int, strain: int) -> _Way:
    """Go on from `way` in the clef at `place`."""
    cost, path = way
    return cost + strain + (change if path and path[-1] != place else 0), (*path, place)


def _strain(clef: Clef, place: int, pitches: Sequence[Pitch]) -> int:
    """What reading these notes in the clef at `place` costs."""
    ledgers = (min(clef.ledger_lines(pitch), len(_STRAIN) - 1) for pitch in pitches)
    return sum(_STRAIN[count] + _PER_PLACE * place for count in ledgers)
