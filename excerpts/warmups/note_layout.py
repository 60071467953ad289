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

from excerpts.instruments.instrument import Level
from excerpts.warmups import acceleration_scale as acceleration
from excerpts.warmups import seven_chords, tone

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
    return tuple(_filled([unit] * count, metre) for metre in metres)


def _scale(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Crotchets for first-year players and single octaves, else quavers, in four.

    Three octaves are an odd number of quavers up, and the top would fall between beats: there the first and
    the top note are crotchets, and the way down starts on the first beat of a bar. Slurs and rhythms that
    need equal notes find them in the other layouts; three octaves go into threes.
    """
    count = 14 * octaves
    if level == "first" or octaves == 1:
        return _even(count, _CROTCHET, _FOUR_FOUR)
    even = _even(count, _QUAVER, _FOUR_FOUR)
    if octaves % 2 == 0:
        return even
    run = [_QUAVER] * count
    run[0] = run[count // 2] = _CROTCHET
    return (_filled(run, _FOUR_FOUR), *even, *_even(count, _QUAVER, _SIX_EIGHT))


def _turned(level: Level, octaves: int) -> tuple[Layout, ...]:
    """The scale with the turn: the top is a first beat in four and in six."""
    count = 14 * octaves + 6
    if level == "first":
        return _even(count, _CROTCHET, _FOUR_FOUR)
    return _even(count, _QUAVER, _FOUR_FOUR, _SIX_EIGHT)


def _arpeggio(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Three crotchets to a bar for first-year players and single octaves, else quavers in 6/8.

    Groups of three suit a triad, but not a rhythm in pairs: the second layout has them in twos.
    """
    count = 6 * octaves
    if level == "first" or octaves == 1:
        return _even(count, _CROTCHET, _THREE_FOUR, _FOUR_FOUR)
    return _even(count, _QUAVER, _SIX_EIGHT, _THREE_FOUR)


def _sevenths(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Four notes to an octave are groups of four."""
    unit = _CROTCHET if level == "first" or octaves == 1 else _QUAVER
    return _even(8 * octaves, unit, _FOUR_FOUR)


def _chromatic(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Twelve notes an octave: in three, the top is a first beat; other rhythms have the other layouts."""
    unit = _CROTCHET if level == "first" else _QUAVER
    return _even(24 * octaves, unit, _THREE_FOUR, _FOUR_FOUR, *([_SIX_EIGHT] if unit == _QUAVER else []))


def _broken_thirds(level: Level, octaves: int) -> tuple[Layout, ...]:
    """A third to a beat, and a broad end: the last third has at least a beat for each of its notes."""
    count = 28 * octaves - 4
    if level == "first":
        return _even(count + 1, _CROTCHET, _FOUR_FOUR)
    broad = Fraction(1 + (octaves + 1) % 2)
    return (_filled([_QUAVER] * count + [broad], _FOUR_FOUR),)


def _double_stops(level: Level, octaves: int) -> tuple[Layout, ...]:
    """Crotchets: two notes are in tune more slowly than one."""
    return _even(14 * octaves, _CROTCHET, _FOUR_FOUR)


def _acceleration(level: Level, octaves: int) -> tuple[Layout, ...]:
    return (_filled(acceleration.lengths(level, octaves), _FOUR_FOUR),)


def _tune(level: Level, octaves: int) -> tuple[Layout, ...]:
    return (Layout(*_THREE_FOUR, tone.tune_lengths()),)


LAYOUTS: Final[dict[str, Callable[[Level, int], tuple[Layout, ...]]]] = {
    "scale": _scale,
    "scale-with-turn": _turned,
    "arpeggio": _arpeggio,
    "chromatic": _chromatic,
    "broken-thirds": _broken_thirds,
    "dominant-seventh": _sevenths,
    "diminished-seventh": _sevenths,
    "thirds": _double_stops,
    "sixths": _double_stops,
    "octaves": _double_stops,
    "acceleration": _acceleration,
    "tune": _tune,
}
"""Layouts of each pattern by level and octaves: the best first, then those that hold rhythms it cannot.

Long notes are not here: how many there are depends on the key (see `long_notes`). Nor are the seven arpeggios, which
come in any order (see `seven_arpeggios`)."""


def seven_arpeggios(octaves: int, order: tuple[int, ...]) -> Layout:
    """Each arpeggio fills as many beats: triads in triplets, sevenths in fours."""
    return _filled(seven_chords.lengths(octaves, order), _TWO_FOUR if octaves % 2 else _FOUR_FOUR)


def long_notes(count: int) -> Layout:
    """A bow to a bar."""
    return Layout(*_FOUR_FOUR, (Fraction(4),) * count)


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
