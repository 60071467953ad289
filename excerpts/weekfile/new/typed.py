"""What a teacher types: minutes by day, lists and numbers are read; ids and names of files are made of the rest."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any, Final

from excerpts.system.studio_files import slug
from excerpts.weekfile.days import WEEKDAYS, weekday

LONGEST_ID: Final = 40
"""Characters that an id of a week file may have."""

_SMALL: Final = frozenset("a an the in of for from on to and no op".split())


def piece_id(title: str, taken: Collection[str]) -> str:
    """A short id for a piece: the first word of weight in its title, with more words until it is free."""
    words = slug(title).split("-")
    heavy = [word for word in words if word not in _SMALL and not word.isdecimal()] or words
    for count in range(1, len(heavy) + 1):
        name = "-".join(heavy[:count])[:LONGEST_ID].strip("-")
        if name and name not in taken:
            return name
    return free_id(slug(title)[:LONGEST_ID] or "piece", taken)


def box_id(piece: str, place: str, taken: Collection[str]) -> str:
    """An id for a box: its piece and its bars ("ferry-21-22")."""
    name = slug(f"{piece}-{place.replace('@', 'at')}")[:LONGEST_ID].strip("-")
    return free_id(name or "box", taken)


def free_id(name: str, taken: Collection[str]) -> str:
    """The name, with a number at its end where it is taken already."""
    number = 2
    wanted = name
    while wanted in taken:
        tail = f"-{number}"
        wanted = name[: LONGEST_ID - len(tail)] + tail
        number += 1
    return wanted


_PAIR: Final = re.compile(r"([^\W\d_]+\.?|\d{4}-\d\d-\d\d)\s*[:=]?\s*(\d{1,5})")
_RANGE: Final = re.compile(r"([^\W\d_]+\.?)\s*(?:[-–]|to|bis)\s*([^\W\d_]+\.?)\s*[:=]?\s*(\d{1,5})")


def read_minutes(text: str) -> Any:
    """Minutes as a week file has them, from "30", or "mon-fri 30, sat 45".

    Raises:
        ValueError: It is neither.
    """
    plain = text.strip().lower()
    if re.fullmatch(r"\d{1,5}", plain):
        return int(plain)
    table: dict[str, int] = {}
    for part in re.split(r"[;,]", plain):
        words = part.strip()
        if not words:
            continue
        if (
            (match := _RANGE.fullmatch(words))
            and (first := weekday(match[1]))
            and (last := weekday(match[2]))
        ):
            start = WEEKDAYS.index(first)
            days = [WEEKDAYS[(start + n) % 7] for n in range((WEEKDAYS.index(last) - start) % 7 + 1)]
        elif match := _PAIR.fullmatch(words):
            days = [weekday(match[1]) or match[1]]
        else:
            raise ValueError(f'"{words}" is not a day with its minutes. Write 30, or mon 30, tue 20, sat 45.')
        table.update(dict.fromkeys(days, int(match[match.lastindex or 2])))
    if not table:
        raise ValueError("Write one number for every day (30), or days: mon 30, tue 20, sat 45.")
    return table


def read_list(text: str) -> list[str]:
    """Several words with commas or semicolons between them."""
    return [word.strip() for word in re.split(r"[;,]", text) if word.strip()]


def read_whole(text: str) -> int:
    """A whole number.

    Raises:
        ValueError: It is none.
    """
    if not re.fullmatch(r"\s*\d{1,9}\s*", text):
        raise ValueError(f'A whole number was expected, not "{text.strip()}".')
    return int(text)
