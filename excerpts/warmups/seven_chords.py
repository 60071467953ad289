"""Arpeggios of seven chords that share their lowest note, in our own order or in any other.

Which seven chords: common practice, no source. The order is a matter of taste, and every method has its own; ours goes
by pairs: major and minor, both of the fourth, the minor of the sixth, and the two chords of sevenths.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.keys import Key
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups.sevenths import DOMINANT, Interval, diminished, up_and_down

NAME: Final = "seven-arpeggios"

_TRIADS: Final[dict[int, tuple[Interval, ...]]] = {
    1: ((2, 4), (4, 7)),  # the major of the first note
    2: ((2, 3), (4, 7)),  # its minor
    3: ((3, 5), (5, 9)),  # the major of the fourth
    4: ((3, 5), (5, 8)),  # the minor of the fourth
    5: ((2, 4), (5, 9)),  # the minor of the sixth
}
_DOMINANT: Final = 6
_DIMINISHED: Final = 7
ORDER: Final = (1, 2, 3, 4, 5, _DOMINANT, _DIMINISHED)
"""Our order of the chords, by their numbers."""


def read_order(text: str) -> tuple[int, ...]:
    """Read an order of the seven chords: "2-1-5-3-4-7-6".

    Raises:
        WarmupError: It does not have each of the seven numbers once.
    """
    parts = [part.strip() for part in text.split("-")]
    if sorted(parts) != [str(number) for number in ORDER]:
        raise WarmupError(
            f"'{text}' in '{NAME}:{text}' is not an order of the seven chords.",
            hint=f"Write each number from 1 to 7 once, like {NAME}:2-1-5-3-4-7-6. 1 is the major and 2 the minor chord "
            "of the note, 3 the major and 4 the minor of the fourth, 5 the minor of the sixth, 6 the dominant and 7 "
            "the diminished seventh.",
        )
    return tuple(int(part) for part in parts)


def seven_arpeggios(
    root: Key, octave: int, octaves: int, order: tuple[int, ...] = ORDER
) -> tuple[Pitch, ...]:
    """The seven arpeggios, one after the other.

    Each comes back to the first note, which is where the next one starts: 46 notes an octave and the last.

    Args:
        root: The key of the first note.
        octave: Octave number of the lowest note.
        octaves: How many octaves up.
        order: The chords by their numbers.
    """
    chords = {**_TRIADS, _DOMINANT: DOMINANT, _DIMINISHED: diminished(root.tonic(octave))}
    runs = [up_and_down(root, chords[number], octave, octaves) for number in order]
    return (*(pitch for run in runs for pitch in run[:-1]), root.tonic(octave))


def lengths(octaves: int, order: tuple[int, ...]) -> list[Fraction]:
    """Length of each note but the last, in beats: each arpeggio fills as many, triads in threes, sevenths in fours."""
    return [
        Fraction(1, _to_a_beat(number)) for number in order for _ in range(2 * octaves * _to_a_beat(number))
    ]


def slurs(octaves: int, order: tuple[int, ...]) -> list[tuple[int, int]]:
    """First and last note of each slur: a beat in a bow."""
    found: list[tuple[int, int]] = []
    first = 0
    for number in order:
        for _ in range(2 * octaves):
            found.append((first, first + _to_a_beat(number) - 1))
            first += _to_a_beat(number)
    return found


def _to_a_beat(number: int) -> int:
    return 3 if number in _TRIADS else 4
