"""Kinds of text that a week file may hold, bounded and free of what cannot be printed; and areas of pages."""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any, Final, NamedTuple

from pydantic import AfterValidator, BeforeValidator, Field

_DIRECTION_MARKS: Final = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Signs that turn the reading direction round and would let a title run over the page."""


def _printable(text: str) -> str:
    for char in text:
        if char in "\n\t":
            continue
        if unicodedata.category(char) in {"Cc", "Cs"} or char in _DIRECTION_MARKS:
            raise ValueError(
                f"There is a character in this text that cannot be printed (U+{ord(char):04X}). Type it again."
            )
    return text


def _one_line(text: str) -> str:
    return " ".join(_printable(text).split())


def _lines(text: str) -> str:
    return _printable(text.replace("\r\n", "\n")).strip()


def _rows(text: str) -> str:
    """A text whose lines keep their numbers."""
    return _printable(text.replace("\r\n", "\n")).rstrip()


def _filled(text: str) -> str:
    if not text:
        raise ValueError("This is empty. Fill it in or leave the key out.")
    return text


def number_as_text(value: Any) -> Any:
    """Take a plain number for a name; a number of more than 40 digits is left as it is, and refused later."""
    return str(value) if type(value) is int and abs(value) < 10**40 else value


def _id(text: str) -> str:
    if not re.fullmatch(r"\w[\w.-]{0,39}", text):
        raise ValueError(
            f'"{text}" cannot be an id. An id is a short name without spaces: letters, digits, "-" and "_".'
        )
    return text


def _one_as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Line = Annotated[str, Field(max_length=300), AfterValidator(_one_line), AfterValidator(_filled)]
"""A text of one line; line breaks and runs of spaces become one space."""

Prose = Annotated[str, Field(max_length=2000), AfterValidator(_lines), AfterValidator(_filled)]
"""A text of one or more lines."""

AbcText = Annotated[str, Field(max_length=4000), AfterValidator(_rows), AfterValidator(_filled)]
"""A few bars of music as ABC, the open text notation."""

Id = Annotated[str, BeforeValidator(number_as_text), AfterValidator(_id)]
"""The short name of a box or a piece; a plain number is taken as one."""

Bars = Annotated[
    str,
    BeforeValidator(number_as_text),
    Field(max_length=100),
    AfterValidator(_one_line),
    AfterValidator(_filled),
]
"""An address of bars ("12-16"); a plain number is one bar."""

one_or_more = BeforeValidator(_one_as_list)
"""Lets a list of texts be written as one text when there is only one."""

_Millimetres = Annotated[float, Field(allow_inf_nan=False, ge=-2000, le=2000)]
Area = tuple[_Millimetres, _Millimetres, _Millimetres, _Millimetres]
"""Left, top, right and bottom of an area of a page, in millimetres."""

_List = Annotated[tuple[Area, ...], Field(max_length=20)]


def _areas(value: Any) -> Any:
    return [value] if isinstance(value, list) and value and not isinstance(value[0], list) else value


Areas = Annotated[_List, BeforeValidator(_areas)]
"""One area, or several."""


def _page(value: Any) -> Any:
    return int(value) if isinstance(value, str) and re.fullmatch(r"[1-9]\d{0,3}", value) else value


PageNumber = Annotated[int, BeforeValidator(_page), Field(ge=1, le=2000)]
"""A page, from 1, as the key of a table."""

_Number = Annotated[int, Field(strict=True, ge=0, le=99_999)]
ByPage = dict[PageNumber, Annotated[tuple[_Number, ...], Field(min_length=1, max_length=60)]]
"""For pages, by their numbers, a number for each system."""

_SYSTEM: Final = re.compile(r"\s*(?:(\d{1,4})\s*/\s*)?(\d{1,3})\s*:\s*(\d{1,3})\s*[-–]\s*(\d{1,3})\s*")


class SystemPart(NamedTuple):
    """A part of a system: its page, None for that of its box; the system, from 1; from which barline to which."""

    page: int | None
    system: int
    first: int
    last: int


def system_bars(text: str) -> SystemPart:
    """The system and the two barlines that "2: 1-4" names; of another page than that of its box "4/2: 1-4".

    Raises:
        ValueError: It is none of that form, or runs backwards.
    """
    match = _SYSTEM.fullmatch(text)
    if match is None:
        raise ValueError(
            f'"{text}" is no part of a system. Write system: barline-barline, as "2: 1-4"; '
            "barline 0 is the line's start."
        )
    page, *rest = match.groups()
    number, first, last = map(int, rest)
    if first >= last:
        raise ValueError(f'"{text}" ends where it begins, or before. Write the earlier barline first.')
    return SystemPart(int(page) if page else None, number, first, last)


def _system_bars(text: str) -> str:
    system_bars(text)
    return text


SystemBars = Annotated[str, Field(max_length=30), AfterValidator(_one_line), AfterValidator(_system_bars)]
"""A part of a system from one barline to another, as it is typed."""


def _metre(text: str) -> str:
    if not re.fullmatch(r"[1-9]\d?/(1|2|4|8|16)", text):
        raise ValueError(f'"{text}" is no metre. Write it as "3/4" or "6/8".')
    return text


Metre = Annotated[str, Field(max_length=8), AfterValidator(_one_line), AfterValidator(_metre)]
"""A metre as two figures."""
