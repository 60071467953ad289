"""The days of the week after: it starts on the day of the lesson, and gently after two weeks without practice."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

from excerpts.log.choices import ChoiceError
from excerpts.log.next_week_draft import NUMBERS_BELOW, NextWeekDraft
from excerpts.log.standing import days_off
from excerpts.variants import slow_start
from excerpts.variants.tempo_steps import one_down
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


REST_DAYS: Final = 14
"""Days without a row in the log after which the first days are lighter: common practice, no source."""

LIGHT_DAYS: Final = 3
"""Days of practice that are lighter: common practice, no source."""


def ease_in(story: NextWeekDraft) -> None:
    """Propose half the minutes for three days, and a lower start; written only where the teacher takes it ("rest")."""
    off = days_off(story.rows, story.start)
    if off is None or off < REST_DAYS:
        return
    days = story.week.week
    coming = (story.start + timedelta(days=n) for n in range(14))
    light = [day for day in coming if days.minutes_on(day)][:LIGHT_DAYS]
    halved = {day.isoformat(): max(days.minutes_on(day) // 2, 1) for day in light}
    minutes = ", ".join(f'"{day}" = {number}' for day, number in halved.items())
    story.about, taken = "rest", "rest" in story.choices.taken
    story.tell("after_rest", days=off, light=len(light), minutes=minutes)
    slower = [box for box in story.week.boxes if box.id in story.in_work and box.target is not None]
    if slower:
        story.tell("after_rest_lower")
    for box in slower:
        assert box.target is not None
        start = one_down(story.starts.get(box.id) or box.start or slow_start(box.target), NUMBERS_BELOW)
        story.tell("after_rest_start", box=story.box(box), start=story.tempo(start))
        if taken and box.id not in story.choices.starts:
            story.change(box, {"start": story.start_value(box, start)})
    if taken:
        story.light.update(halved)
