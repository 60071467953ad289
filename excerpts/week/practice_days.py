"""Days and their minutes, as a week file gives them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated, Any, Final

from pydantic import AfterValidator

WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
EVERY: Final = "every"
LONG_WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


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
    if plain in (*WEEKDAYS, EVERY):
        return plain
    if plain in LONG_WEEKDAYS:
        return plain[:3]
    if re.fullmatch(r"\d{4}-\d\d-\d\d", plain):
        return real_date(plain).isoformat()
    near = difflib.get_close_matches(plain, (*WEEKDAYS, *LONG_WEEKDAYS, EVERY), 1)
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
