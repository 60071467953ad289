"""Takes turns: whoever had the fewest so far is next."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction
from typing import Final

DAILY: Final = 7
"""The weight from which on a piece comes every day."""


class Rotation:
    """Turns of some items over the days of a week.

    Items of equal weight that are never called out of turn differ by at most one turn.

    Args:
        weights: Weight of each item: one of weight 2 has about twice as many turns.
    """

    def __init__(self, weights: Sequence[int]) -> None:
        self.turns = [0] * len(weights)
        self._weights = list(weights)

    def next(self, count: int, first: Sequence[int] = (), liked: Collection[int] = ()) -> list[int]:
        """The items of today, without counting them as played.

        Args:
            count: How many; those of `first` count too and come even when there are more of them.
            first: Items that come today in any case.
            liked: Items that win a tie.
        """
        chosen = list(dict.fromkeys(first))
        others = [item for item in range(len(self.turns)) if item not in chosen]
        others.sort(key=lambda item: (self._served(item), item not in liked, -self._weights[item], item))
        return chosen + others[: max(count - len(chosen), 0)]

    def _served(self, item: int) -> Fraction:
        return Fraction(self.turns[item], self._weights[item])

    def played(self, item: int) -> None:
        """Count a turn."""
        self.turns[item] += 1

    @property
    def left_out(self) -> list[int]:
        """Items that had no turn."""
        return [item for item, turns in enumerate(self.turns) if not turns]


class PieceTurns:
    """Turns of the pieces over the days of a week, by weight: on how many of seven days each is wanted.

    Pieces of weight 7 and more come every day, before all others. The others are due when an even spread of
    their days says so, so that an old favourite of weight 1 comes once, in the middle of the week; where there is
    less room than is due, they share it in proportion to their weights (by the smallest of (turns + 1/2) / weight,
    the divisor method of Webster and Sainte-Lague). Pieces of equal weight that are never called out of turn
    differ by at most one turn.

    Args:
        weights: Weight of each piece.
        days: Number of days with practice.
    """

    def __init__(self, weights: Sequence[int], days: int) -> None:
        self.turns = [0] * len(weights)
        self.weights = list(weights)
        self._days = days

    def next(
        self, day: int, count: int, first: Sequence[int] = (), without: Collection[int] = ()
    ) -> list[int]:
        """The pieces of today, without counting them as played; one at least where there is any.

        Args:
            day: Which day of practice it is, from 1.
            count: How many; those of `first` count too and come even when there are more of them.
            first: Pieces that come today in any case.
            without: Pieces that do not come today.
        """
        chosen = list(dict.fromkeys(first))
        others = [piece for piece in range(len(self.turns)) if piece not in chosen and piece not in without]
        others.sort(key=self._rank)
        due = [piece for piece in others if self._due(piece, day)]
        chosen += due[: max(count - len(chosen), 0)]
        return chosen or others[:1]

    def daily(self, piece: int) -> bool:
        """Whether a piece is to come every day."""
        return self.weights[piece] >= DAILY

    def _rank(self, piece: int) -> tuple[bool, Fraction, int, int]:
        served = Fraction(2 * self.turns[piece] + 1, self.weights[piece])
        return not self.daily(piece), served, -self.weights[piece], piece

    def _due(self, piece: int, day: int) -> bool:
        wanted = max(Fraction(self.weights[piece] * self._days, DAILY), Fraction(1))
        return self.daily(piece) or self.turns[piece] + Fraction(1, 2) <= wanted * day / self._days

    def played(self, piece: int) -> None:
        """Count a turn."""
        self.turns[piece] += 1

    @property
    def left_out(self) -> list[int]:
        """Pieces that had no turn."""
        return [piece for piece, turns in enumerate(self.turns) if not turns]
