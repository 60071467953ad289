"""Divides minutes without losing one: by largest remainders, ties to the earlier.

The shares of the sections, the number of boxes in depth and the minutes of a short day are common practice
without a source: defaults.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction
from typing import Final

from excerpts.instruments.instrument import Level
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
FEW_BARS: Final = 30
"""Minutes of playing below which technique takes only the few most useful bars of a study."""

SHORTEST: Final = 8
"""Minutes of playing below which one box and its piece are all that is played."""

_SHORTEST_SHARES: Final[Mapping[Section, int]] = {"passages": 2, "repertoire": 1}

_REVIEW: Final = (20, 20, 20, 40)
_REVIEW_SHORT: Final[Mapping[Section, int]] = {"warm-up": 3, "passages": 4, "repertoire": 8}
"""The same for a player in the first year with pieces in review, which are three quarters of the repertoire."""

_LIGHT: Final[Mapping[Section, int]] = {"warm-up": 2, "technique": 1, "passages": 1, "repertoire": 1}
"""A light day: long on warming up, short on work."""

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


def section_minutes(
    playing: int,
    level: Level,
    filled: Collection[Section] = SECTIONS,
    *,
    own: Mapping[Section, int] | None = None,
    review: bool = False,
) -> dict[Section, int]:
    """Minutes of each section by the shares of the level; those of an empty section go to the others.

    Args:
        playing: Minutes of playing, breaks not counted.
        level: The player's level.
        filled: The sections that have something to play.
        own: The teacher's own shares.
        review: The player is in the first year and has pieces in review.
    """
    shares = own or dict(zip(SECTIONS, _REVIEW if review else _SHARES[level], strict=True))
    kept = {section: shares[section] for section in SECTIONS if section in filled}
    return _divided(playing, kept if any(kept.values()) else dict.fromkeys(kept, 1))


def day_sections(
    playing: int,
    level: Level,
    filled: Collection[Section],
    *,
    own: Mapping[Section, int] | None = None,
    review: bool = False,
) -> dict[Section, int]:
    """Minutes of each section on one day, with the rule for short days.

    Below twenty minutes technique drops out (fifteen are 3 warm-up, 8 box, 4 piece); below eight there are
    only a box and its piece. The teacher's own shares hold on short days too.

    Args:
        playing: Minutes of playing, breaks not counted.
        level: The player's level.
        filled: The sections that have something to play.
        own: The teacher's own shares.
        review: The player is in the first year and has pieces in review.
    """
    short = _REVIEW_SHORT if review else _SHORT_SHARES
    for limit, shares in ((SHORTEST, _SHORTEST_SHARES), (SHORT, short)):
        kept = {section: share for section, share in shares.items() if section in filled}
        if playing < limit and kept and not own:
            return _divided(playing, kept)
    return section_minutes(playing, level, filled, own=own, review=review)


def light_sections(playing: int, filled: Collection[Section]) -> dict[Section, int]:
    """Minutes of each section on the light day before a performance."""
    return _divided(playing, {section: _LIGHT[section] for section in SECTIONS if section in filled})


def _divided(minutes: int, shares: Mapping[Section, int]) -> dict[Section, int]:
    return dict(zip(shares, apportion(minutes, list(shares.values())), strict=True))


def most_in_depth(total: int) -> int:
    """How many boxes can be worked on in depth on a day of `total` minutes."""
    return next(most for least, most in _IN_DEPTH if total >= least)
