"""The metronome's numbers and the steps from a slow tempo to the goal.

The 39 numbers are those of the traditional metronome: by 2 to 60, 3 to 72, 4 to 120, 6 to 144, 8 to 208. Starting
at half the goal is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from excerpts.excerpt import Tempo

METRONOME_NUMBERS: Final = (
    40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108, 112, 116,
    120, 126, 132, 138, 144, 152, 160, 168, 176, 184, 192, 200, 208,
)  # fmt: skip
"""The traditional metronome numbers, in beats a minute."""

SLOWEST: Final = METRONOME_NUMBERS[0]

_ALL_NUMBERS: Final = (
    *range(SLOWEST // 2, 30),
    *range(30, SLOWEST, 2),
    *METRONOME_NUMBERS,
    *(2 * n for n in METRONOME_NUMBERS if 2 * n > METRONOME_NUMBERS[-1]),
)
"""The numbers with those below and above the traditional list, for metronomes that have them."""

NEAREST: Final = Fraction(103, 100)
WIDEST: Final = Fraction(6, 5)
"""How many times as fast as the one before a tempo is at least, and usually at most: common practice, no source."""


def is_dotted(unit: Fraction) -> bool:
    """Whether a beat divides in three (a dotted note)."""
    return unit.numerator % 3 == 0


def smaller_beat(unit: Fraction) -> Fraction:
    """The next smaller beat: half of a plain beat, a third of a dotted one."""
    return unit / 3 if is_dotted(unit) else unit / 2


def rounded_down(number: Fraction) -> int | None:
    """The highest metronome number that is not above `number`; None below the list."""
    fitting = [step for step in METRONOME_NUMBERS if step <= number]
    return fitting[-1] if fitting else None


def on_metronome(tempo: Tempo) -> Tempo:
    """A tempo rounded down to a metronome number, in smaller beats where it is below the list.

    Raises:
        ValueError: It is too slow for any beat down to a hemidemisemiquaver.
    """
    unit, number = tempo.unit, tempo.number
    while number < SLOWEST:
        smaller = smaller_beat(unit)
        if smaller < Fraction(1, 16):
            raise ValueError(f"{tempo.number} is too slow for a metronome")
        number, unit = number * unit / smaller, smaller
    down = rounded_down(number)
    return Tempo(Fraction(down if down is not None else SLOWEST), unit)


def slow_start(target: Tempo) -> Tempo:
    """Where to start: half of the goal, rounded down to the list; below 40 the beat unit gets smaller.

    Crotchet = 120 gives crotchet = 60, crotchet = 60 gives quaver = 60, dotted crotchet = 60 gives quaver = 88.
    """
    return on_metronome(Tempo(target.number / 2, target.unit))


def half_and_whole(target: Tempo) -> tuple[Tempo, Tempo]:
    """Half of the goal as the metronome has it (see `slow_start`), and the goal: to be played in turns.

    Seen as a test of readiness in a university's practice notes for viola; five rounds are common practice.
    """
    return slow_start(target), target


def one_down(tempo: Tempo, numbers: int = 1) -> Tempo:
    """A number or more down the metronome, for after failed tries; in smaller beats below the list."""
    for _ in range(numbers):
        lower = [step for step in METRONOME_NUMBERS if step < tempo.number]
        if lower:
            tempo = Tempo(Fraction(lower[-1]), tempo.unit)
        else:
            smaller = smaller_beat(tempo.unit)
            tempo = one_down(Tempo(tempo.number * tempo.unit / smaller, smaller))
    return tempo


def tempo_steps(
    start: int | Fraction,
    target: int | Fraction,
    unit: Fraction = Fraction(1),
    most: int = 6,
    *,
    widest: Fraction | None = None,
    one_beat: bool = False,
) -> tuple[Tempo, ...]:
    """Tempos from `start` to `target` along the metronome, in wide steps at first and narrow ones at the end.

    No tempo is within three per cent of the one before: nobody hears that.

    Args:
        start: First number, in beats of `unit` a minute; below 40 it is given in smaller beats.
        target: Last number; it need not be on the list.
        unit: The beat, in quarter notes.
        most: How many tempos at most, with both ends.
        widest: How many times as fast as the one before a tempo is at most. Where the target is too far for that,
            the steps end before it. With None they always lead to it.
        one_beat: All numbers are beats of `unit`, those below 40 too.

    Raises:
        ValueError: `start` is above `target`, a number is not positive, or `most` is below 1.
    """
    start, target = Fraction(start), Fraction(target)
    if not 0 < start <= target or most < 1:
        raise ValueError(f"no steps lead from {start} to {target} in at most {most} tempos")
    tempos = _way(start, target, unit, one_beat)
    if most == 1:
        return tempos[:1] if widest else tempos[-1:]
    speeds = [tempo.quarters_per_minute for tempo in tempos]
    limit, last = widest or target / start, len(tempos) - 1
    needed = [last]  # the lowest place from which the target can be reached in 0, 1, 2 … more steps
    for _ in range(most):
        needed.append(
            next(place for place, speed in enumerate(speeds) if speed * limit >= speeds[needed[-1]])
        )
    chosen = [0]
    while (here := chosen[-1]) < last and len(chosen) < most:
        left = most - len(chosen)
        wished = here + falling_gaps(last - here, min(left, last - here))[0]
        highest = max(place for place, speed in enumerate(speeds) if speed <= speeds[here] * limit)
        if highest == here:
            break
        chosen.append(min(max(wished, needed[left - 1]), highest))
    return tuple(tempos[place] for place in chosen)


def _way(start: Fraction, target: Fraction, unit: Fraction, one_beat: bool) -> tuple[Tempo, ...]:
    """The start, the metronome's numbers after it, and the target, each a little faster than the one before."""
    ladder = _ladder(unit, one_beat)
    first = Tempo(start, unit) if one_beat else _nice(Tempo(start, unit), ladder)
    if start * NEAREST > target:
        return (Tempo(target, unit),)
    between = [tempo for tempo in ladder if start * NEAREST <= _in(unit, tempo) <= target / NEAREST]
    return (first, *between, Tempo(target, unit))


def falling_gaps(total: int, count: int) -> list[int]:
    """Split `total` in `count` whole gaps of at least 1 that never grow, in about the ratio count … 2, 1."""
    weights = range(count, 0, -1)
    gaps = [1] * count
    left = total - count
    shares = [Fraction(weight * left, sum(weights)) for weight in weights]
    gaps = [gap + int(share) for gap, share in zip(gaps, shares, strict=True)]
    for index in range(total - sum(gaps)):
        gaps[index] += 1
    return gaps


def _in(unit: Fraction, tempo: Tempo) -> Fraction:
    """The number of a tempo counted in beats of `unit`."""
    return tempo.quarters_per_minute / unit


def _ladder(unit: Fraction, one_beat: bool) -> list[Tempo]:
    """All numbers for a beat; those below 40 in smaller beats, unless there is to be one beat."""
    if one_beat:
        return [Tempo(Fraction(n), unit) for n in _ALL_NUMBERS]
    smaller = smaller_beat(unit)
    slow = [Tempo(Fraction(n), smaller) for n in _ALL_NUMBERS if n * smaller / unit < SLOWEST]
    return slow + [Tempo(Fraction(n), unit) for n in _ALL_NUMBERS if n >= SLOWEST]


def _nice(tempo: Tempo, ladder: list[Tempo]) -> Tempo:
    """A tempo as the ladder says it (in smaller beats when slow), or itself where it is not on it."""
    same = (other for other in ladder if other.quarters_per_minute == tempo.quarters_per_minute)
    same_beat = next(same, None)
    if same_beat is not None or tempo.number >= SLOWEST:
        return same_beat or tempo
    smaller = smaller_beat(tempo.unit)
    return Tempo(tempo.number * tempo.unit / smaller, smaller)
