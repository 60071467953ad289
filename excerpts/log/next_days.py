"""The days of the week after: it starts on the day of the lesson."""

from __future__ import annotations

from datetime import date

from excerpts.log.choices import ChoiceError
from excerpts.weekfile.model import LONGEST_WEEK, Days

_LONGEST_KEPT = 2
"""Weeks from lesson to lesson that are taken for a habit (fortnightly lessons); a longer gap was a holiday."""


def next_days(days: Days, start: date | None = None, until: date | None = None) -> tuple[date, date | None]:
    """First and last day of the week after; the last is None where a week of seven days needs none.

    Args:
        days: The days of the old week.
        start: The first day, where the teacher says it.
        until: The last day, where the teacher says it.

    Raises:
        ChoiceError: The new week would not come after the old one, would end before it starts, or would be too long.
    """
    first = start or days.next_lesson
    if first <= days.start:
        raise ChoiceError(
            f"The new week would start on {first}, but the old one starts on {days.start}.", choice="start"
        )
    last = until or _usual_end(days, first)
    if last is not None and last < first:
        raise ChoiceError(f"The new week would end on {last}, before it starts on {first}.", choice="until")
    if last is not None and (last - first).days >= LONGEST_WEEK:
        raise ChoiceError(f"From {first} to {last} is more than {LONGEST_WEEK} days.", choice="until")
    return first, last


def _usual_end(days: Days, first: date) -> date | None:
    if days.until is None:
        return None
    length = days.until - days.start
    whole = length.days % 7 in (0, 6) and 6 <= length.days <= 7 * _LONGEST_KEPT
    return first + length if whole else None
