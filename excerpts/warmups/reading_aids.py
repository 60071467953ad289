"""What makes a warm-up easy to read: clefs that change, octave lines, accidentals that only remind.

All rules: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from excerpts.instruments.staff import Clef
from excerpts.musicxml.elements import Accidental
from excerpts.musicxml.pitch import SIGNS, Pitch, alterations
from excerpts.notes.model import Notation

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


_MOST_LEDGERS: Final = 6
_TOO_MUCH: Final = 2
"""Ledger lines above the most, all notes of a stretch together, that make an octave line worth it."""
_UNDER_THE_LINE: Final = 4


def octave_lines(groups: Sequence[Sequence[Pitch]], clefs: Sequence[Clef]) -> Iterator[tuple[int, int]]:
    """Find the stretches to be written an octave lower, as first and last index of their groups.

    Args:
        groups: The pitches of each beam group.
        clefs: The clef of each group.
    """
    stretch: list[int] = []
    excess = 0
    for index, (group, clef) in enumerate(zip(groups, clefs, strict=True)):
        above = [clef.ledger_lines(pitch) for pitch in group if pitch.midi > clef.top.midi]
        if group and len(above) == len(group) and min(above) >= _UNDER_THE_LINE:
            stretch.append(index)
            excess += sum(max(0, lines - _MOST_LEDGERS) for lines in above)
        else:
            yield from _line(stretch, excess)
            stretch, excess = [], 0
    yield from _line(stretch, excess)


def _line(stretch: list[int], excess: int) -> list[tuple[int, int]]:
    """The stretch of groups as first and last, where it is worth an octave line."""
    return [(stretch[0], stretch[-1])] if excess >= _TOO_MUCH else []


_CAUTIONARY: Final = (("cautionary", "yes"),)


def reminders(
    fifths: int, bars: Sequence[Sequence[Pitch]], *, near: bool = False
) -> Iterator[Notation | None]:
    """Give each note's reminder, or None where it has none.

    Args:
        fifths: The key signature in force.
        bars: The pitches of each bar, in order.
        near: Remind only of what stood in the bar before: where every bar has its own accidentals, as in a
            chromatic scale, older ones are forgotten.
    """
    signature = alterations(fifths)
    before: dict[str, Fraction] = {}
    last: set[str] = set()
    for bar in bars:
        shown: dict[tuple[str, int], Fraction] = {}
        if near:
            before = {step: alter for step, alter in before.items() if step in last}
        last = {pitch.step for pitch in bar}
        for pitch in bar:
            alter, place = pitch.alter, (pitch.step, pitch.octave)
            must_stand = alter != shown.get(place, signature.get(pitch.step, Fraction(0)))
            changed = alter != before.get(pitch.step, alter)
            yield Notation(Accidental(SIGNS[alter], _CAUTIONARY)) if changed and not must_stand else None
            shown[place] = before[pitch.step] = alter
