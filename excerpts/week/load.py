"""Warns where practice grows too fast: from one day to the next, or from one week to the next.

The limits are common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Final

from excerpts.errors import InputError
from excerpts.system.studio_files import same_player
from excerpts.week.model import Week
from excerpts.weekfile.model import Days
from excerpts.weekfile.reading import read_document
from excerpts.weekfile.whose import Whose, file_bytes, whose
from excerpts.words import Words

JUMP: Final = 3
"""Times the minutes of the day of practice before: more is a jump."""

LONG_DAY: Final = 60
"""Minutes up to which no day is called a jump."""

RISE: Final = Fraction(4, 3)
"""How far the minutes of a week may rise over those of the week before."""

LITTLE: Final = 20
"""Minutes a day up to which a week may rise as it likes."""


def load_warnings(week: Week, words: Words) -> list[str]:
    """Sentences on a day whose minutes jump, and on a week that rises by more than a third.

    Args:
        week: The week; the week before is looked for beside its file.
        words: The player's words.
    """
    return _sentences(week.week, _week_before(week), words)


def load_of_files(path: Path, before: Path | None, words: Words) -> list[str]:
    """The same of a week file whose week before is known.

    Args:
        path: The week file; one that cannot be read says nothing: its own commands tell what is wrong with it.
        before: The file of the week before; None where there is none.
        words: The player's words.
    """
    days = _days(path)
    return _sentences(days, _days(before) if before else None, words) if days else []


def _sentences(days: Days, last: Days | None, words: Words) -> list[str]:
    warnings = [
        words("plan.load.jump", day=day, minutes=days.minutes_on(day), before=days.minutes_on(before))
        for before, day in pairwise(days.practised)
        if days.minutes_on(day) > max(JUMP * days.minutes_on(before), LONG_DAY)
    ]
    if last is not None:
        then, now = a_day(last), a_day(days)
        if then and now > LITTLE and now > RISE * then:
            warnings.append(words("plan.load.rise", then=round(then), now=round(now), start=last.start))
    return warnings


def a_day(days: Days) -> Fraction:
    """Minutes of a week by the day, days off included."""
    return Fraction(sum(days.minutes_on(day) for day in days.dates), len(days.dates))


def _week_before(week: Week) -> Days | None:
    """The days of the latest earlier week file of the same player in the same folder; None where there is none."""
    folder = week.path.parent
    known = {week.path, *(folder / name for name in week.include)}  # none of them is read a second time
    dated = [
        (own.start, path) for path in folder.glob("*.toml") if path not in known if (own := _own(path, week))
    ]
    earlier = [(start, path) for start, path in dated if start and start < week.week.start]
    return _days(max(earlier)[1]) if earlier else None


def _days(path: Path) -> Days | None:
    try:
        return Days.model_validate(read_document(path).raw["week"])
    except (InputError, ValueError, KeyError):
        return None  # its own commands tell what is wrong with it


def _own(path: Path, week: Week) -> Whose | None:
    """Whose week a file is, where it is of the same player."""
    owner = whose(file_bytes(path))
    return owner if owner and same_player(owner.player, week.player.name) else None
