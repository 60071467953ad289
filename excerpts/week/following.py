"""When the next lesson is: the day on which the week after begins."""

from __future__ import annotations

from datetime import date, timedelta

from excerpts.weekfile.model import Days


def following(days: Days) -> date:
    """The first day of the week after: the day of the next lesson.

    `until` names it; where the days up to `until` are whole weeks by themselves, `until` is the day before it.
    """
    if days.until is None:
        return days.start + timedelta(weeks=1)
    if ((days.until - days.start).days + 1) % 7 == 0:
        return days.until + timedelta(days=1)
    return days.until if days.until > days.start else days.until + timedelta(days=1)
