"""Divides minutes without losing one: among the sections of a day, its breaks and its items.

Largest remainders, ties to the earlier. The shares of the sections, the number of boxes in depth and the minutes of a
short day are common practice without a source: defaults. The lengths of breaks follow what string teachers and
musicians' health sheets advise (five minutes after 25 to 30 of playing); they are defaults too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import Level
from excerpts.week.plan.model import PlanItem
from excerpts.weekfile.settings import SECTIONS, Section

_SHARES: Final[Mapping[Level, tuple[int, int, int, int]]] = {
    "first": (20, 25, 20, 35),
    "lower": (15, 25, 30, 30),
    "middle": (15, 25, 30, 30),
    "upper": (15, 25, 30, 30),
    "advanced": (10, 30, 30, 30),
}
"""Per cent of the playing time of each section."""

SHORT: Final = 20
"""Minutes of playing below which technique is left out before the day splits into scraps."""

_SHORT_SHARES: Final[Mapping[Section, int]] = {"warm-up": 3, "passages": 8, "repertoire": 4}
_TURN_SHARES: Final[Mapping[Section, int]] = {"warm-up": 2, "technique": 4, "passages": 5, "repertoire": 4}
"""The same on a day when technique has its turn."""

_EVERY: Final = 3
"""Of so many short days the second has technique."""

FEW_BARS: Final = 30
"""Minutes of playing below which technique takes only the few most useful bars of a study."""

SHORTEST: Final = 8
"""Minutes of playing below which one box and its piece are all that is played."""

_SHORTEST_SHARES: Final[Mapping[Section, int]] = {"passages": 2, "repertoire": 1}

_REVIEW: Final = (20, 20, 20, 40)
_REVIEW_SHORT: Final[Mapping[Section, int]] = {"warm-up": 3, "passages": 4, "repertoire": 8}
_REVIEW_TURN: Final[Mapping[Section, int]] = {"warm-up": 2, "technique": 3, "passages": 3, "repertoire": 7}
"""The same for a player in the first year with pieces in review, which are three quarters of the repertoire."""

_TAKES_MORE: Final[tuple[Section, ...]] = ("repertoire", "passages")
"""Where more minutes than a day's items ask for do least harm, first of all in the pieces."""

_IN_DEPTH: Final = ((120, 4), (90, 3), (45, 2), (0, 1))


def apportion(total: int, weights: Sequence[int | Fraction]) -> list[int]:
    """Divide `total` in whole numbers in the ratio of `weights`, which are not negative.

    Largest remainders, ties to the earlier; all zero when no weight is above zero.
    """
    whole = sum(weights, Fraction(0))
    if whole <= 0:
        return [0] * len(weights)
    exact = [Fraction(total) * weight / whole for weight in weights]
    parts = [int(share) for share in exact]
    most_left = sorted(range(len(parts)), key=lambda place: (parts[place] - exact[place], place))
    for place in most_left[: total - sum(parts)]:
        parts[place] += 1
    return parts


def apportion_within(
    total: int, weights: Sequence[int], most: Sequence[int], rest: Sequence[int]
) -> list[int]:
    """Divide `total` like `apportion`, but give none more than its most while another has room.

    Args:
        total: What is divided.
        weights: Weight of each, above zero.
        most: What each has room for.
        rest: Weights by which what is left over is divided, when all have their most.
    """
    parts = [0] * len(weights)
    free, left = set(range(len(weights))), total
    while free:
        shares = apportion(left, [weight if place in free else 0 for place, weight in enumerate(weights)])
        full = {place for place in free if shares[place] > most[place]}
        if not full:
            return [shares[place] if place in free else part for place, part in enumerate(parts)]
        for place in full:
            parts[place] = most[place]
        free -= full
        left = total - sum(parts)
    return [part + more for part, more in zip(parts, apportion(left, rest), strict=True)]


def day_sections(
    playing: int,
    level: Level,
    filled: Collection[Section] = SECTIONS,
    *,
    own: Mapping[Section, int] | None = None,
    review: bool = False,
    day: int = 1,
) -> dict[Section, int]:
    """Minutes of each section on one day by the shares of the level; those of an empty section go to the others.

    Below twenty minutes technique drops out but for its turn, the second of each three days (fifteen are 3 warm-up,
    8 box, 4 piece; with technique 2, 4, 5 and 4); below eight there are only a box and its piece. The teacher's own
    shares hold on short days too.

    Args:
        playing: Minutes of playing, breaks not counted.
        level: The player's level.
        filled: The sections that have something to play.
        own: The teacher's own shares.
        review: The player is in the first year and has pieces in review.
        day: Which day of practice it is, from 1.
    """
    turn = day % _EVERY == _EVERY - 1
    usual, with_technique = (_REVIEW_SHORT, _REVIEW_TURN) if review else (_SHORT_SHARES, _TURN_SHARES)
    short = with_technique if turn else usual
    for limit, shares in ((SHORTEST, _SHORTEST_SHARES), (SHORT, short)):
        kept = {section: share for section, share in shares.items() if section in filled}
        if playing < limit and kept and not own:
            return _divided(playing, kept)
    shares = own or dict(zip(SECTIONS, _REVIEW if review else _SHARES[level], strict=True))
    kept = {section: shares[section] for section in SECTIONS if section in filled}
    return _divided(playing, kept if any(kept.values()) else dict.fromkeys(kept, 1))


def _divided(minutes: int, shares: Mapping[Section, int]) -> dict[Section, int]:
    return dict(zip(shares, apportion(minutes, list(shares.values())), strict=True))


def most_in_depth(total: int) -> int:
    """How many boxes can be worked on in depth on a day of `total` minutes."""
    return next(most for least, most in _IN_DEPTH if total >= least)


LONGEST: Final = 30
"""Minutes of playing without a break at most, unless the week says otherwise."""

LENGTH: Final = 5
_NEAR: Final = 8
"""Minutes that a break may come sooner or later than the even division, to fall between two items."""


def break_count(total: int, longest: int = LONGEST, length: int = LENGTH) -> int:
    """How many breaks a session of `total` minutes has, the breaks counted in the total.

    Args:
        total: Minutes of the session.
        longest: Minutes of playing without a break at most; five sixths of them are usual.
        length: Minutes of a break; with 0 there are none.
    """
    if total <= longest or not length:
        return 0
    usual = longest * 5 // 6
    return -(-(total - usual) // (usual + length))


def break_minutes(total: int, longest: int = LONGEST, length: int = LENGTH) -> int:
    """Minutes of a session of `total` minutes that are breaks."""
    return length * break_count(total, longest, length)


def break_places(count: int, items: Iterable[int], longest: int = LONGEST) -> tuple[int, ...]:
    """Minutes of playing after which each of `count` breaks comes.

    A break falls between two items where one ends near the even division, else inside an item;
    no block is over `longest` minutes.

    Args:
        count: Number of breaks.
        items: Minutes of the items in the order they are played.
        longest: Minutes of playing without a break at most.
    """
    ends: list[int] = []
    for minutes in items:
        ends.append(minutes + (ends[-1] if ends else 0))
    playing = ends[-1] if ends else 0
    near = min(_NEAR, longest // 3)
    places: list[int] = []
    last = 0
    for blocks in range(count, 0, -1):
        even = last + round((playing - last) / (blocks + 1))
        least = max(last + 1, playing - longest * blocks)
        most = min(last + longest, playing - blocks)
        fitting = [end for end in ends if least <= end <= most and abs(end - even) <= near]
        last = min(fitting, key=lambda end: abs(end - even), default=even)
        places.append(last)
    return tuple(places)


_LEAST_IN_DEPTH = 3
"""Minutes that the teacher's own minutes for other items always leave a box in depth."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """An item of the day before it has its minutes.

    Attributes:
        item: The item.
        wanted: The teacher's own minutes for it, or None.
        weight: Its part of the section's minutes, against the others.
        least: Minutes below which it is rather left out, where another of its section is played.
        most: Minutes that it asks for at most; None where that is not known.
    """

    item: PlanItem
    wanted: int | None = None
    weight: int = 1
    least: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Allotment:
    """The minutes of each chosen item, in their order; 0 where there was no time.

    Attributes:
        minutes: Whole minutes, adding up to the minutes of playing.
        shortened: The teacher's own minutes did not fit.
        stretched: There was nothing else to play, so that items have more than they ask for.
    """

    minutes: tuple[int, ...]
    shortened: bool
    stretched: bool


def allot(playing: int, shares: Mapping[Section, int], chosen: Sequence[Chosen]) -> Allotment:
    """Divide the minutes of playing over the items.

    Args:
        playing: Minutes of playing.
        shares: Minutes that each section should have.
        chosen: The items; at least one.
    """
    own = [place for place, one in enumerate(chosen) if one.wanted is not None]
    free = [place for place, one in enumerate(chosen) if one.wanted is None]
    wanted = [chosen[place].wanted or 0 for place in own]
    kept_free = sum(_LEAST_IN_DEPTH if chosen[place].item.in_depth else 1 for place in free)
    for_own = min(sum(wanted), max(playing - kept_free, 0)) if free else playing
    minutes = [0] * len(chosen)
    given = wanted if for_own == sum(wanted) else apportion(for_own, wanted)
    for place, part in zip(own, given, strict=True):
        minutes[place] = part
    left = playing - for_own
    for place, part in zip(free, _free(left, shares, chosen, minutes, free), strict=True):
        minutes[place] = part
    _one_in_depth(chosen, minutes)
    stretched = for_own > sum(wanted) if own and not free else left > sum(_room(chosen, free, left))
    return Allotment(tuple(minutes), for_own < sum(wanted), stretched)


def _room(chosen: Sequence[Chosen], places: Sequence[int], left: int) -> list[int]:
    """The minutes that each of some items asks for at most, of those that are left."""
    most = [chosen[place].most for place in places]
    return [left if one is None else one for one in most]


def _free(
    left: int,
    shares: Mapping[Section, int],
    chosen: Sequence[Chosen],
    minutes: Sequence[int],
    free: Sequence[int],
) -> list[int]:
    """Divide what is `left` over the sections by what each still lacks of its share, then over its items.

    What none of them asks for goes to the pieces, else to the boxes, where there are any.
    """
    members = {
        section: [place for place in free if chosen[place].item.section == section] for section in SECTIONS
    }
    taken = {
        section: sum(part for one, part in zip(chosen, minutes, strict=True) if one.item.section == section)
        for section in SECTIONS
    }
    filled = [section for section in SECTIONS if members[section]]
    lacking = [max(shares.get(section, 0) - taken[section], 1) for section in filled]
    room = [sum(_room(chosen, members[section], left)) for section in filled]
    more = next((section for section in _TAKES_MORE if section in filled), None)
    rest = [lack * (more in {None, section}) for section, lack in zip(filled, lacking, strict=True)]
    parts: dict[int, int] = {}
    divided = apportion_within(left, lacking, room, rest)
    for section, part in zip(filled, divided, strict=True):
        places = members[section]
        parts.update(zip(places, _among([chosen[place] for place in places], part), strict=True))
    return [parts[place] for place in free]


def _among(items: Sequence[Chosen], minutes: int) -> list[int]:
    """Divide the minutes of a section over its items: first what each has at least, if there are enough."""
    least = [one.least for one in items]
    if sum(least) > minutes:
        least = [0] * len(items)
    room = [
        minutes if one.most is None else max(one.most - own, 0) for one, own in zip(items, least, strict=True)
    ]
    weights = [one.weight for one in items]
    more = apportion_within(minutes - sum(least), weights, room, weights)
    return [own + part for own, part in zip(least, more, strict=True)]


def _one_in_depth(chosen: Sequence[Chosen], minutes: list[int]) -> None:
    """Give the first box in depth at least one minute, taken from the longest item."""
    deep = next((place for place, one in enumerate(chosen) if one.item.in_depth), None)
    if deep is not None and minutes[deep] == 0 and (longest := max(minutes)) > 0:
        minutes[minutes.index(longest)] -= 1
        minutes[deep] = 1
