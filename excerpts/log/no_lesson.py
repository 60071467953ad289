"""What becomes of a week when nothing is decided: the same week once more, or a lesson that does not take place."""

from __future__ import annotations

from datetime import date, timedelta

from excerpts.errors import WeekError
from excerpts.log.carried_items import carry_pieces
from excerpts.log.carry import move_days, own_tables
from excerpts.log.edits import Carried, Edit
from excerpts.log.first_days import next_days
from excerpts.log.next_week_draft import NextWeekDraft
from excerpts.week import Week
from excerpts.weekfile.model import LONGEST_WEEK, Days
from excerpts.words import Words


def again(week: Week, text: str, words: Words) -> Carried:
    """The same week once more: its days move on, and a performance that is over goes; all else stays.

    Args:
        week: The week that is over.
        text: Its file.
        words: Words of the lines.

    Raises:
        WeekError: The days are not in order.
    """
    first, last = next_days(week.week)
    story = NextWeekDraft(week, (), words, first, **own_tables(text))
    story.tell("again", first=first, last=last or first + timedelta(days=6))
    carry_pieces(story)
    move_days(story, last)
    return Carried(first, last, tuple(story.steps), tuple(story.lines))


def go_on(week: Week, words: Words) -> Carried:
    """The week goes on to the lesson after the next one, a week later.

    Args:
        week: The week.
        words: Words of the lines.

    Raises:
        WeekError: It would get longer than a week may be.
    """
    days = week.week
    lesson = days.next_lesson + timedelta(weeks=1)
    if (lesson - days.start).days >= LONGEST_WEEK:
        raise WeekError(
            f"The week would last from {days.start} to {lesson}, which is more than {LONGEST_WEEK} days.",
            where=week.path.name,
            hint="Write a new week when lessons begin again.",
        )
    last = _last(days.start, lesson)
    story = NextWeekDraft(week, (), words, days.start, set(), set(), 0)
    story.tell("goes_on", lesson=lesson)
    step = Edit("set", "week", values={"until": last})
    return Carried(days.start, last, (step,), tuple(story.lines))


def _last(start: date, lesson: date) -> date:
    """The last day of a week whose next lesson is on that day."""
    days = (lesson + timedelta(days=n) for n in (-1, 0, 1))
    return next(day for day in days if Days(start=start, until=day, minutes={}).next_lesson == lesson)
