"""How a warm-up stands on the page: note lengths and metre, with full bars and the turn on a beat.

All layouts and tempos: common practice, no source. The runs between the tonics are equal notes, so that
rhythm variants fit them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Final

from excerpts.instruments import Level

_CROTCHET = Fraction(1)
_QUAVER = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Layout:
    """Metre and note lengths.

    Attributes:
        beats: Upper number of the time signature.
        beat_type: Lower number of the time signature.
        beat: Length of a beat in quarter notes (6/8 has two of 3/2).
        group: Length of a beam group in quarter notes; the clef changes between groups only.
        lengths: Length of each note in quarter notes; together they fill whole bars.
    """

    beats: int
    beat_type: int
    beat: Fraction
    group: Fraction
    lengths: tuple[Fraction, ...]

    @property
    def bar(self) -> Fraction:
        """Length of a bar in quarter notes."""
        return Fraction(4 * self.beats, self.beat_type)

    @property
    def onsets(self) -> tuple[Fraction, ...]:
        """Onset of each note in quarter notes from the start."""
        return tuple(accumulate(self.lengths[:-1], initial=Fraction(0)))


_FOUR_FOUR = (4, 4, _CROTCHET, Fraction(2))
_THREE_FOUR = (3, 4, _CROTCHET, Fraction(3))
_SIX_EIGHT = (6, 8, Fraction(3, 2), Fraction(3, 2))


def _filled(run: list[Fraction], metre: tuple[int, int, Fraction, Fraction]) -> Layout:
    """Add the last note, as long as the rest of its bar (a whole bar where the run fills its own)."""
    bar = Fraction(4 * metre[0], metre[1])
    last = bar - sum(run, Fraction(0)) % bar
    return Layout(*metre, (*run, last))


def _scale(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Crotchets for first-year players and single octaves, else quavers, in four.

    Three octaves are an odd number of quavers up, and the top would fall between beats: there the first and
    the top note are crotchets, and the way down starts on the first beat of a bar.
    """
    count = 14 * octaves
    if level == "first" or octaves == 1:
        return (_filled([_CROTCHET] * count, _FOUR_FOUR),)
    run = [_QUAVER] * count
    if octaves % 2:
        run[0] = run[count // 2] = _CROTCHET
    return (_filled(run, _FOUR_FOUR),)


def _arpeggio(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Three crotchets to a bar for first-year players and single octaves, else quavers in 6/8.

    Groups of three suit a triad, but not a rhythm in pairs: the second layout has them in twos.
    """
    count = 6 * octaves
    if level == "first" or octaves == 1:
        run = [_CROTCHET] * count
        return (_filled(run, _THREE_FOUR), _filled(run, _FOUR_FOUR))
    run = [_QUAVER] * count
    return (_filled(run, _SIX_EIGHT), _filled(run, _THREE_FOUR))


LAYOUTS: Final[dict[str, Callable[[Level, int], tuple[Layout, ...]]]] = {
    "scale": _scale,
    "arpeggio": _arpeggio,
}
"""Layouts of each pattern by level and octaves: the best first, then those that hold rhythms it cannot."""

_SCALE_BEATS: Final[dict[Level, int]] = {"first": 60, "lower": 60, "middle": 66, "upper": 72, "advanced": 80}
_SWINGING_BEATS: Final[dict[Level, int]] = {
    "first": 40,
    "lower": 40,
    "middle": 44,
    "upper": 48,
    "advanced": 54,
}


def beats_per_minute(layout: Layout, level: Level) -> int:
    """The tempo printed until the teacher says another, in beats of the layout."""
    return (_SCALE_BEATS if layout.beat == _CROTCHET else _SWINGING_BEATS)[level]
