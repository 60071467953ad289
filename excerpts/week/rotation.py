"""Takes turns: whoever had the fewest so far is next."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction


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
