"""When a player has a lesson: a weekday, a time of day or both, as "tue 16:30"."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Annotated, Final

from pydantic import AfterValidator, BeforeValidator, Field

from excerpts.week.practice_days import LONG_WEEKDAYS, WEEKDAYS
from excerpts.weekfile.text_kinds import number_as_text

_TIME: Final = re.compile(r"(\d{1,2})[:.h](\d\d)")


def _lesson(text: str) -> str:
    """The same in one way of writing: "tue 16:30", "tue", "16:30".

    Raises:
        ValueError: It is neither day nor time.
    """
    day = time = ""
    for word in text.lower().split():
        found = _TIME.fullmatch(word)
        if found and not time and int(found[1]) < 24 and int(found[2]) < 60:
            time = f"{int(found[1]):02}:{found[2]}"
        elif not day and word in (*WEEKDAYS, *LONG_WEEKDAYS):
            day = word[:3]
        else:
            raise ValueError(f'"{text}" is not a lesson time. Write day and time as "tue 16:30".')
    if not day and not time:
        raise ValueError('This is empty. Write day and time as "tue 16:30", or leave the key out.')
    return f"{day} {time}".strip()


LessonTime = Annotated[str, BeforeValidator(number_as_text), Field(max_length=40), AfterValidator(_lesson)]
"""Weekday and time of a lesson; the days and times of `minutes` are not touched by it."""


def lesson_at(lesson: str | None, start: date) -> tuple[date, str]:
    """Day and time of the lesson that a week's workbook is handed out in.

    Args:
        lesson: What the file says; None where it says nothing.
        start: First day of the week.

    Returns:
        The first such weekday from the start of the week on (the start itself where no day is said), and the time as
        "16:30", empty where none is said.
    """
    words = (lesson or "").split()
    day = next((word for word in words if word in WEEKDAYS), None)
    time = next((word for word in words if word not in WEEKDAYS), "")
    ahead = (WEEKDAYS.index(day) - start.weekday()) % 7 if day else 0
    return start + timedelta(days=ahead), time
