"""Days as a week file gives them: dates, the minutes of a day, and when a lesson is ("tue 16:30")."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Annotated, Any, Final

from pydantic import AfterValidator, BeforeValidator, Field

from excerpts.weekfile.text_kinds import number_as_text
from excerpts.words import Words, choices

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EVERY: Final = "every"


def weekday(text: str) -> str | None:
    """The weekday ("mon") that two letters or more begin, in any language that has a words file; None for no day."""
    begun = text.strip().rstrip(".").casefold()
    days = {short for name, short in _weekdays() if len(begun) >= 2 and name.startswith(begun)}
    return days.pop() if len(days) == 1 else None


@lru_cache(maxsize=1)
def _weekdays() -> tuple[tuple[str, str], ...]:
    languages = [Words(choice)("workbook.date.weekdays").casefold().split() for choice in choices()]
    return tuple((name, short) for names in languages for name, short in zip(names, WEEKDAYS, strict=True))


def real_date(value: Any) -> date:
    """Take a TOML date or a text such as "2026-11-30"; refuse numbers and times of day.

    Raises:
        ValueError: It is no date.
    """
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value.strip()):
        try:
            value = date.fromisoformat(value.strip())
        except ValueError:
            raise ValueError(f"{value.strip()} is not a real date.") from None
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError("This is not a date. Write it as year-month-day: 2026-11-30.")
    if not 1900 <= value.year <= 2999:
        raise ValueError(f"The year {value.year} cannot be right.")
    return value


def minutes_table(value: Any) -> Any:
    """Let one number stand for every day."""
    return {EVERY: value} if not isinstance(value, dict) else value


def _day_key(key: str) -> str:
    plain = key.strip().lower()
    if plain == EVERY:
        return EVERY
    if day := weekday(plain):
        return day
    if re.fullmatch(r"\d{4}-\d\d-\d\d", plain):
        return real_date(plain).isoformat()
    near = difflib.get_close_matches(plain, (*(name for name, _ in _weekdays()), *WEEKDAYS, EVERY), 1)
    hint = f'Did you mean "{near[0]}"?' if near else "Days are mon, tue, wed, thu, fri, sat, sun, or a date."
    raise ValueError(f'"{key}" is not a day. {hint}')


DayKey = Annotated[str, AfterValidator(_day_key)]
"""Key of a minutes table: "mon" to "sun", "every", or a date as "2026-12-06"."""


def day_minutes(table: Mapping[str, int], day: date) -> int:
    """Minutes on `day`: by its date, else by its weekday, else "every", else none."""
    for key in (day.isoformat(), WEEKDAYS[day.weekday()], EVERY):
        if key in table:
            return table[key]
    return 0


_TIME: Final = re.compile(r"(\d{1,2})[:.h](\d\d)")


def _lesson(text: str) -> str:
    """Bring a lesson time into one form: "tue 16:30", "tue" or "16:30".

    Raises:
        ValueError: It is neither day nor time.
    """
    day = time = ""
    for word in text.lower().split():
        match = _TIME.fullmatch(word)
        if match and not time and int(match[1]) < 24 and int(match[2]) < 60:
            time = f"{int(match[1]):02}:{match[2]}"
        elif not day and (meant := weekday(word)):
            day = meant
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
