"""Reads what a teacher types off a player's paper: days, tempos and counts as they stand there, half of it missing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Tempo
from excerpts.log.log_cells import file_words, plain, read_count
from excerpts.log.row import LogRow
from excerpts.score.marked_words import BAR_WORDS
from excerpts.weekfile.days import WEEKDAYS, weekday
from excerpts.weekfile.model import Days
from excerpts.weekfile.tempo_text import number_text, parse_number, parse_tempo, tempo_text
from excerpts.words import Words

_NEAR: Final = 31
"""Days before or after a week up to which a date is taken for what it is: more is a wrong month or year."""

_DAY_NUMBER: Final = re.compile(r"(\d{1,2})\.(?=\s|$|:)")
_ISO: Final = re.compile(r"\d{4}-\d\d-\d\d")
_RUNS: Final = re.compile(r"[x×*]\s*(\d+)$|(\d+)\s*[x×*]$")
_BROKE: Final = re.compile(
    rf"(?P<word>(?:{BAR_WORDS})\s*)?(?P<bars>\w*\d\w*(?:\s*[-–]\s*\w*\d\w*)?)(?P<rest>.*)",
    re.IGNORECASE | re.DOTALL,
)
"""Bars by their numbers, and what follows them."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One day of the record of a box, as far as it was filled in.

    Attributes:
        day: The day; None where the paper has none.
        tempo: The tempo; None where the paper has none.
        clean: Clean runs in a row; None where the paper has none.
    """

    day: date | None = None
    tempo: Tempo | None = None
    clean: int | None = None


def read_entries(answer: str, days: Days, unit: Fraction | None) -> tuple[Entry, ...]:
    """Read the record of a box: "mon 54 3, tue 58 10", "58", "tue x5", "quaver = 76 4".

    Args:
        answer: What was typed; an entry for each day, apart by commas or semicolons.
        days: The days of the week, for what "mon" means.
        unit: The beat of the box's tempos; None for a goal in words, where a number alone is a count.

    Raises:
        ValueError: An entry cannot be read; the message says which and how to write it.
    """
    entries = (part.strip() for part in re.split(r"[,;]", answer))
    return tuple(_entry(part, days, unit) for part in entries if part)


def _entry(text: str, days: Days, unit: Fraction | None) -> Entry:
    day, rest = _day_first(text, days)
    clean: int | None = None
    if match := _RUNS.search(rest):
        clean, rest = read_count(match[1] or match[2]), rest[: match.start()].strip()
    if not rest:
        if day is None and clean is None:
            raise ValueError(f'"{text}" says nothing.')
        return Entry(day, None, clean)
    beat, sign, numbers = rest.rpartition("=")
    parts = numbers.split()
    if unit is None and not sign:
        if len(parts) != 1 or clean is not None:
            raise ValueError(f'"{text}" is not a day and a number of runs ("mon 10").')
        return Entry(day, None, read_count(parts[0]))
    if not 1 <= len(parts) <= 2 or (len(parts) == 2 and clean is not None):
        raise ValueError(f'"{text}" is not a day, a tempo and a number of runs ("mon 54 3").')
    tempo = (
        parse_tempo(f"{beat} = {parts[0]}") if sign else Tempo(parse_number(parts[0]), unit or Fraction(1))
    )
    return Entry(day, tempo, read_count(parts[1]) if len(parts) == 2 else clean)


def _day_first(text: str, days: Days) -> tuple[date | None, str]:
    """The day that an entry begins with, and the rest of it."""
    head, _, rest = text.partition(" ")
    name = head.rstrip(":").lower()
    if _ISO.fullmatch(name) or _DAY_NUMBER.fullmatch(name) or name[:1].isalpha():
        if "=" in text and weekday(name) is None:
            return None, text  # the name of a beat
        if re.match(r"x\s*\d", text, re.IGNORECASE):
            return None, text  # a count alone
        return read_day(name, days), rest.strip().removeprefix(":").strip()
    return None, text


def read_day(text: str, days: Days) -> date:
    """The day of the week that is meant: "mon", "Tuesday", "7." or "2026-12-07".

    Raises:
        ValueError: It is none of the week's days, or could be two of them.
    """
    name = text.strip().lower()
    if _ISO.fullmatch(name):
        try:
            day = date.fromisoformat(name)
        except ValueError:
            raise ValueError(f"{name} is not a real date.") from None
        if (days.start - day).days > _NEAR or (day - days.last).days > _NEAR:
            raise ValueError(f"{day} is not in this week ({days.start} to {days.last}).")
        return day
    if match := _DAY_NUMBER.fullmatch(name):
        matching = [day for day in days.dates if day.day == int(match[1])]
    else:
        meant = weekday(name)
        if meant is None:
            raise ValueError(f'"{text.strip()}" is not a day: mon, tue, wed …, or the date as 2026-12-07.')
        matching = [day for day in days.dates if day.weekday() == WEEKDAYS.index(meant)]
    if not matching:
        raise ValueError(f'"{text.strip()}" is not in this week ({days.start} to {days.last}).')
    if len(matching) > 1:
        numbers = " or ".join(f"{day.day}." for day in matching)
        raise ValueError(f'There are {len(matching)} days that "{text.strip()}" can mean: write {numbers}')
    return matching[0]


def read_days(answer: str, days: Days) -> tuple[date, ...]:
    """Several days: "mon, wed".

    Raises:
        ValueError: One of them is no day of the week.
    """
    return tuple(read_day(part, days) for part in re.split(r"[,;\s]+", answer.strip()) if part)


def read_broke(answer: str) -> tuple[str, str]:
    """Where it broke down and what was noticed: "bar 14: left hand late", "T. 14", "hand tired".

    Returns:
        The bars and the note; either may be empty.
    """
    text = answer.strip()
    match = _BROKE.fullmatch(text)
    rest = match["rest"].strip() if match else ""
    if match is None or (rest and not match["word"] and rest[0] not in ":;,."):
        return "", text
    return re.sub(r"\s*[-–]\s*", "-", match["bars"]), rest.lstrip(":;,. ")


def bars_typed(answer: str) -> str:
    """The bars in a column of their own, as the log has them: "bar 14", "T. 14–16", "33, 35"."""
    named = re.sub(rf"^\s*(?:{BAR_WORDS})\s*", "", answer, flags=re.IGNORECASE)
    return re.sub(r"(?<=\w)\s*[-–]\s*(?=\w)", "-", plain(named))


def entry_text(row: LogRow, unit: Fraction | None, words: Words) -> str:
    """A tempo and its runs as `read_entries` reads them: "58 3", "quaver = 76 x4", "x5"."""
    runs = "" if row.clean is None else f"x{row.clean}"
    if row.tempo is None:
        return runs
    if row.tempo.unit != unit:
        return " ".join(filter(None, (tempo_text(row.tempo, file_words(words)), runs)))
    return " ".join(filter(None, (number_text(row.tempo.number), runs.removeprefix("x"))))
