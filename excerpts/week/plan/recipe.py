"""The recipe of a box in depth: slow, in small pieces, rhythms, as written, in context, with their minutes.

Shares are common practice, no source: defaults.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from excerpts.week.plan.shares import apportion

StepName = Literal["slow", "pieces", "rhythms", "written", "context"]

_SHARES: Final[Mapping[StepName, int]] = {
    "slow": 25,
    "pieces": 20,
    "rhythms": 25,
    "written": 20,
    "context": 10,
}
"""Per cent of the box's minutes, in the order they are played."""

_LEAST_NEEDED: Final[tuple[StepName, ...]] = ("pieces", "written", "rhythms", "context")
"""What is left out first when there are fewer minutes than steps; slow always stays."""


@dataclass(frozen=True, slots=True)
class RecipeStep:
    """One step of the recipe and its whole minutes."""

    name: StepName
    minutes: int


def recipe(minutes: int, *, rhythms: bool = True, context: bool = True) -> tuple[RecipeStep, ...]:
    """The steps of a box for one day; their minutes add up to `minutes`, each has at least one.

    Args:
        minutes: Minutes for the box on that day.
        rhythms: Whether it has variants to play.
        context: Whether there is music around it to play it in.
    """
    names = [name for name in _SHARES if (name != "rhythms" or rhythms) and (name != "context" or context)]
    for name in _LEAST_NEEDED:
        if len(names) > minutes and name in names:
            names.remove(name)
    if minutes < 1:
        return ()
    spare = apportion(minutes - len(names), [_SHARES[name] for name in names])
    return tuple(RecipeStep(name, 1 + more) for name, more in zip(names, spare, strict=True))
