"""A stretch of a bar that is to be spelled, and which points of a bar halving reaches."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class TimeSpan:
    """A stretch of one event inside one bar, before it is spelled.

    Attributes:
        onset: Quarter notes from the start of the bar, counted as the metre counts (a pick-up starts late).
        end: Where it ends, likewise.
        rest: Whether it is silent.
        key: Whatever the caller wants back with the pieces.
    """

    onset: Fraction
    end: Fraction
    rest: bool
    key: int


def is_binary(number: Fraction) -> bool:
    """Whether a point can be reached by halving quarter notes."""
    return number.denominator & (number.denominator - 1) == 0


def odd_part(number: int) -> int:
    """A whole number without its factors of two."""
    while number % 2 == 0:
        number //= 2
    return number
