"""Kinds of text that a week file may hold, bounded and free of what cannot be printed; and areas of pages."""

from __future__ import annotations

import re
import unicodedata
from typing import Annotated, Any, Final

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
