"""The cheapest path through the places of the hand, and how sure each string is.

Exact: the likeliest string of each note first (forward and backward sums over all paths, a path's weight being
e to the power of minus its cost), then the cheapest path on those strings.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np
import numpy.typing as npt

from excerpts.instruments.instrument import THUMB, Instrument
from excerpts.lefthand.hand_note import HandNote
from excerpts.lefthand.hand_places import Place, facts_of, forms_of, places_of
from excerpts.lefthand.moments import moments
from excerpts.lefthand.rules import PLACE_FACTS, STEP_FACTS, WHENS, Table, weights

_OFF_STRING: Final = 50.0
"""Cost of a place on another string than the likeliest."""

_FARTHEST: Final = 6
"""Positions from which on a shift is as wide as any."""

_LEAST: Final = 1e-200


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a player is asked for.

    Attributes:
        positions: The positions that were taught; None for all.
        small_hand: No extensions.
        tone: "dark" for lower strings, "bright" for the highest; "" for neither.
        open_strings: "never" or "always"; "" by the rules.
        exercise: It is a scale or an arpeggio, to be fingered as those are taught.
    """

    positions: frozenset[int] | None = None
    small_hand: bool = False
    tone: str = ""
    open_strings: str = ""
    exercise: Literal["", "scale", "arpeggio"] = ""

    @property
    def turned_on(self) -> frozenset[str]:
        """The `WHENS` that they turn on."""
        wanted = {self.tone, self.exercise}
        if self.exercise:
            wanted.add("exercise")
        if self.small_hand:
            wanted.add("small_hand")
        if self.open_strings:
            wanted.add(f"{self.open_strings}_open")
        return frozenset(wanted.intersection(WHENS))


NO_WISHES: Final = Wishes()
FIRST_YEAR: Final = frozenset({0, 1})
"""The positions of a first-year player, as in the ranges of the levels, where a week file says none."""


def taught_positions(named: Collection[int], level: str) -> frozenset[int] | None:
    """The positions that a player was taught: those that are named, else by the level; None for all."""
    return frozenset(named) or (FIRST_YEAR if level == "first" else None)


class Choices(NamedTuple):
    """The places of one note as arrays, a row for each.

    Attributes:
        places: The places.
        facts: `PLACE_FACTS`, a column for each place.
        low: Index of the lowest string of each.
        high: Index of the highest.
        at: Where the hand is, in positions.
        stopped: No string is open.
        fingers: The fingers as one number.
        above: Semitones above the open string, of the lowest note.
        thumb: The thumb is up.
        strings: Which string each note of a chord is on.
        forms: In which forms of the hand it can be had, a bit for each.
    """

    places: tuple[Place, ...]
    facts: Table
    low: Table
    high: Table
    at: Table
    stopped: Table
    fingers: Table
    above: Table
    thumb: Table
    strings: Table
    forms: npt.NDArray[np.int64]


def choices_of(note: HandNote, player: Instrument, taught: frozenset[int] | None) -> Choices | None:
    """The places of a note; None where no hand can play it."""
    places = places_of(note, player)
    if not places:
        return None
    facts = np.array(facts_of(places, note.given, player, taught), dtype=float).T
    fingers = [sum(stop.finger * 10**digit for digit, stop in enumerate(place.stops)) for place in places]
    return Choices(
        places,
        facts,
        np.array([place.low for place in places], dtype=float),
        np.array([place.high for place in places], dtype=float),
        np.array([place.hand.place for place in places], dtype=float),
        np.array([all(stop.finger for stop in place.stops) for place in places], dtype=float),
        np.array(fingers, dtype=float),
        np.array([place.stops[0].above for place in places], dtype=float),
        facts[PLACE_FACTS.index("thumb")],
        np.array([[stop.string for stop in place.stops] for place in places], dtype=float),
        np.array([forms_of(place, player) for place in places], dtype=np.int64),
    )


def _step_facts(before: Choices, after: Choices) -> Table:
    """`STEP_FACTS` for every place before and every place after."""
    size = np.abs(after.at - before.at[:, None])
    moved = (size > 1e-9).astype(float)
    away = np.maximum(0, np.maximum(after.low - before.high[:, None], before.low[:, None] - after.high))
    crossed = (away > 0).astype(float)
    other = (moved + crossed + (after.fingers != before.fingers[:, None]) > 0).astype(float)
    slid = (1 - other) * (after.above != before.above[:, None])
    return np.stack(
        [
            moved,
            np.minimum(size, _FARTHEST),
            moved * after.stopped * before.stopped[:, None],
            crossed,
            np.maximum(0, away - 1),
            1 - crossed,
            other,
            slid,
            np.abs(after.thumb - before.thumb[:, None]),
            (1 - crossed)
            * moved
            * np.where(
                after.at > before.at[:, None], ~_is_first(after.fingers), ~_is_first(before.fingers)[:, None]
            ),
            moved * crossed,
            (1 - moved) * (1 - crossed) * ((after.forms & before.forms[:, None]) == 0),
        ]
    )


def _is_first(fingers: Table) -> npt.NDArray[np.bool_]:
    """Whether a hand is led by its first finger, or by its thumb."""
    return np.isin(fingers, (1, THUMB))


class Chain:
    """Notes with the places and costs of each, to be decoded as often as costs are added.

    Args:
        notes: The notes; all of them can be played.
        player: The instrument.
        wishes: What the player is asked for.
    """

    def __init__(self, notes: Sequence[HandNote], player: Instrument, wishes: Wishes = NO_WISHES) -> None:
        by_letters = player.hand.by_letters
        known: dict[tuple[object, ...], Choices] = {}
        self.choices = [_known(known, note, player, wishes.positions) for note in notes]
        whens = moments(notes, player, wishes.turned_on)
        of_place = whens @ weights(PLACE_FACTS, by_letters).T
        of_step = whens @ weights(STEP_FACTS, by_letters).T
        self.own = [weight @ one.facts for weight, one in zip(of_place, self.choices, strict=True)]
        pairs: dict[tuple[int, int], Table] = {}
        self.steps = [np.zeros((1, len(self.choices[0].places)))] if notes else []
        for index in range(1, len(notes)):
            before, after = self.choices[index - 1 : index + 1]
            pair = (id(before), id(after))
            if pair not in pairs:
                pairs[pair] = _step_facts(before, after)
            self.steps.append(np.tensordot(of_step[index], pairs[pair], 1))

    def decode(self, extra: Mapping[int, Table] | None = None) -> list[tuple[Place, tuple[float, ...]]]:
        """The place of each note, and how sure the string of each of its pitches is.

        Args:
            extra: Costs to be added to the places of some notes, by the note's index.
        """
        if not self.steps:
            return []
        own = list(self.own)
        for index, more in (extra or {}).items():
            own[index] = own[index] + more
        costs = [step + cost for step, cost in zip(self.steps, own, strict=True)]
        likely = _likelihoods(costs)
        wanted = [_likeliest(one, weight) for one, weight in zip(self.choices, likely, strict=True)]
        path = _cheapest(
            [
                cost + np.where(one.low == low, 0.0, _OFF_STRING)
                for cost, one, low in zip(costs, self.choices, wanted, strict=True)
            ]
        )
        decoded = []
        for chosen, one, weight in zip(path, self.choices, likely, strict=True):
            sure = weight @ (one.strings == one.strings[chosen])
            decoded.append((one.places[chosen], tuple(float(part) for part in sure)))
        return decoded


def _known(
    known: dict[tuple[object, ...], Choices],
    note: HandNote,
    player: Instrument,
    taught: frozenset[int] | None,
) -> Choices:
    key = (note.pitches, note.given)
    if key not in known:
        choices = choices_of(note, player, taught)
        assert choices is not None, note  # such notes are left out of a chain
        known[key] = choices
    return known[key]


def _likelihoods(costs: Sequence[Table]) -> list[Table]:
    """How likely each place of each note is, over all paths."""
    weight = [np.exp(cost.min() - cost) for cost in costs]
    forward, now = [], np.ones(1)
    for one in weight:
        now = now @ one + _LEAST
        now = now / now.sum()
        forward.append(now)
    likely: list[Table] = [now] * len(costs)
    now = np.ones(len(forward[-1]))
    for index in range(len(costs) - 1, -1, -1):
        both = forward[index] * now + _LEAST
        likely[index] = both / both.sum()
        now = weight[index] @ now + _LEAST
        now = now / now.sum()
    return likely


def _likeliest(one: Choices, weight: Table) -> float:
    """The lowest string that a note is likeliest to be had on."""
    strings: list[float] = sorted(set(one.low.tolist()))
    return max(strings, key=lambda string: float(weight[one.low == string].sum()))


def _cheapest(costs: Sequence[Table]) -> list[int]:
    """The cheapest path, as the index of a place for each note."""
    back, total = [], np.zeros(1)
    for cost in costs:
        sums = total[:, None] + cost
        best = sums.argmin(0)
        back.append(best)
        total = sums[best, np.arange(sums.shape[1])]
    at, path = int(total.argmin()), []
    for best in reversed(back):
        path.append(at)
        at = int(best[at])
    return path[::-1]
