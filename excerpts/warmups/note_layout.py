"""How a warm-up stands on the page: note lengths and metre, with full bars and the turn on a beat.

All layouts and tempos: common practice, no source. The runs between the tonics are equal notes, so that
rhythm variants fit them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from typing import Final

from excerpts.instruments.instrument import Level

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


_Metre = tuple[int, int, Fraction, Fraction]
"""Upper and lower number, beat and beam group: the first four fields of a layout."""

_TWO_FOUR: _Metre = (2, 4, _CROTCHET, _CROTCHET)
_FOUR_FOUR: _Metre = (4, 4, _CROTCHET, Fraction(2))
_THREE_FOUR: _Metre = (3, 4, _CROTCHET, Fraction(3))
_SIX_EIGHT: _Metre = (6, 8, Fraction(3, 2), Fraction(3, 2))


def _filled(run: list[Fraction], metre: _Metre) -> Layout:
    """Add the last note, as long as the rest of its bar (a whole bar where the run fills its own)."""
    bar = Fraction(4 * metre[0], metre[1])
    last = bar - sum(run, Fraction(0)) % bar
    return Layout(*metre, (*run, last))


def _even(count: int, unit: Fraction, *metres: _Metre) -> tuple[Layout, ...]:
    """Equal notes and a longer last one, in each of the metres."""
    return tuple(_filled([unit] * (count - 1), metre) for metre in metres)


def _slow(level: Level, octaves: int) -> bool:
    """Whether the notes are crotchets: for first-year players and in single octaves."""
    return level == "first" or octaves == 1


# Each function gives the ways to lay out so many notes: the best first, then those that hold rhythms it cannot.


def scale(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """Crotchets or quavers in four.

    Three octaves are an odd number of quavers up, and the top would fall between beats: there the first and
    the top note are crotchets, and the way down starts on the first beat of a bar. Slurs and rhythms that
    need equal notes find them in the other layouts; three octaves go into threes.
    """
    if _slow(level, octaves):
        return _even(count, _CROTCHET, _FOUR_FOUR)
    if octaves % 2 == 0:
        return _even(count, _QUAVER, _FOUR_FOUR)
    run = [_QUAVER] * (count - 1)
    run[0] = run[count // 2] = _CROTCHET
    return (_filled(run, _FOUR_FOUR), *_even(count, _QUAVER, _FOUR_FOUR, _SIX_EIGHT))


def scale_with_turn(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """The top is a first beat in four and in six."""
    if level == "first":
        return _even(count, _CROTCHET, _FOUR_FOUR)
    return _even(count, _QUAVER, _FOUR_FOUR, _SIX_EIGHT)


def arpeggio(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """Crotchets in three or quavers in 6/8.

    Groups of three suit a triad, but not a rhythm in pairs: the second layout has them in twos.
    """
    if _slow(level, octaves):
        return _even(count, _CROTCHET, _THREE_FOUR, _FOUR_FOUR)
    return _even(count, _QUAVER, _SIX_EIGHT, _THREE_FOUR)


def seventh(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """Four notes to an octave are groups of four."""
    return _even(count, _CROTCHET if _slow(level, octaves) else _QUAVER, _FOUR_FOUR)


def chromatic(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """Twelve notes an octave: in three, the top is a first beat; other rhythms have the other layouts."""
    if level == "first":
        return _even(count, _CROTCHET, _THREE_FOUR, _FOUR_FOUR)
    return _even(count, _QUAVER, _THREE_FOUR, _FOUR_FOUR, _SIX_EIGHT)


def broken_thirds(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """A third to a beat, and a broad end: the last third has at least a beat for each of its notes."""
    if level == "first":
        return _even(count, _CROTCHET, _FOUR_FOUR)
    broad = Fraction(1 + (octaves + 1) % 2)
    return (_filled([_QUAVER] * (count - 2) + [broad], _FOUR_FOUR),)


def double_stops(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """Crotchets: two notes are in tune more slowly than one."""
    return _even(count, _CROTCHET, _FOUR_FOUR)


def long_notes(level: Level, octaves: int, count: int) -> tuple[Layout, ...]:
    """A bow to a bar."""
    return (Layout(*_FOUR_FOUR, (Fraction(4),) * count),)


def in_three(lengths: tuple[Fraction, ...]) -> tuple[Layout, ...]:
    """Notes of given lengths in three-four."""
    return (Layout(*_THREE_FOUR, lengths),)


def by_beats(beats: Iterable[int], *, two: bool = False) -> tuple[Layout, ...]:
    """So many equal notes in each beat, in four or in two."""
    lengths = [Fraction(1, count) for count in beats for _ in range(count)]
    return (_filled(lengths, _TWO_FOUR if two else _FOUR_FOUR),)


_SCALE_BEATS: Final[dict[Level, int]] = {"first": 60, "lower": 60, "middle": 66, "upper": 72, "advanced": 80}
_SWINGING_BEATS: Final[dict[Level, int]] = {
    "first": 40,
    "lower": 40,
    "middle": 44,
    "upper": 48,
    "advanced": 54,
}


_SLOWEST: Final = 60


def beats_per_minute(layout: Layout, level: Level) -> int:
    """The tempo printed until the teacher says another, in beats of the layout."""
    if min(layout.lengths) < _QUAVER and layout.beat == _CROTCHET:
        return _SLOWEST
    return (_SCALE_BEATS if layout.beat == _CROTCHET else _SWINGING_BEATS)[level]
