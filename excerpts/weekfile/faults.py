"""Faults of a week or studio file: where each is, and what is wrong in a teacher's words."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from excerpts.errors import WeekError
from excerpts.weekfile.lines import KeyPath


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in a file.

    Attributes:
        file: The file.
        line: Its line, from 1; None when it is the file as a whole.
        key: The key in words ('box "run", why'); empty when it is no key.
        message: What was found and what would be right.
        path: The key in the file; empty when it is none.
    """

    file: Path
    line: int | None
    key: str
    message: str
    path: KeyPath = field(default=(), compare=False)

    @property
    def place(self) -> str:
        """Line and key, as a message names them."""
        line = f"line {self.line}" if self.line else ""
        return ", ".join(part for part in (line, self.key) if part)

    def __str__(self) -> str:
        return f"{', '.join(part for part in (self.file.name, self.place) if part)}: {self.message}"


class WeekFaultsError(WeekError):
    """A file has faults; all of them are told at once.

    Attributes:
        faults: The faults, in the order of the file.
    """

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        file = faults[0].file.name
        if len(faults) == 1:
            where = ", ".join(part for part in (file, faults[0].place) if part)
            super().__init__(faults[0].message, where=where)
            return
        alone = len({fault.file for fault in faults}) == 1
        lines = (
            "\n  " + (": ".join(filter(None, (fault.place, fault.message))) if alone else str(fault))
            for fault in faults
        )
        super().__init__(f"{len(faults)} things are wrong in it.{''.join(lines)}", where=file)


def nearest(found: object, known: Iterable[str], otherwise: str = "") -> str:
    """A hint that names the known word nearest to `found`; `otherwise` when none is near."""
    words = {word.lower(): word for word in known}
    near = difflib.get_close_matches(str(found).lower(), words, 1, 0.6)
    return f'Did you mean "{words[near[0]]}"?' if near else otherwise


def listed(words: Iterable[str]) -> str:
    """Words in a row as a sentence has them: "violin, viola, cello and bass"."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def key_in_words(path: KeyPath, raw: Mapping[str, Any]) -> str:
    """A key path as a teacher reads it: ("box", 1, "why", 0) is 'box "run", why'."""
    parts: list[str] = []
    value: Any = raw
    for step in path:
        value = _inside(value, step)
        if isinstance(step, str):
            parts.append(step)
        elif isinstance(value, dict) and parts:
            name = value.get("id")
            parts[-1] += f' "{_short(name)}"' if _is_name(name) else f" {step + 1}"
    return ", ".join(parts)


def _is_name(value: Any) -> bool:
    return isinstance(value, str) or (isinstance(value, int) and abs(value) < 10**40)


def _inside(value: Any, step: str | int) -> Any:
    if isinstance(value, dict):
        return value.get(step)
    if isinstance(value, list) and isinstance(step, int) and step < len(value):
        return value[step]
    return None


def _short(value: object) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 60 else f"{text[:57]}…"


def message_of(error: ErrorDetails, table: type[BaseModel] | None) -> str:
    """What a teacher is told about one error of the checks.

    Args:
        error: The error as pydantic tells it.
        table: The table that the key stands in, for the keys that it knows.
    """
    kind, context, found = error["type"], error.get("ctx", {}), error["input"]
    if kind == "value_error":
        return str(context["error"])
    if kind == "extra_forbidden":
        return _unknown_key(str(error["loc"][-1]), table)
    if kind == "missing":
        return f'The key "{error["loc"][-1]}" is missing.'
    if kind == "literal_error":
        return _unknown_word(found, str(context["expected"]))
    if kind in _BRACKETS:
        return _brackets(error, kind)
    return _MESSAGES.get(kind, error["msg"] + ".").format(found=_found(found), **context)


def _found(found: Any) -> str:
    """What was found, as a message shows it: itself when it is short and plain, else what kind it is."""
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, int) and abs(found) >= 10**40:
        return "a very large number"
    if isinstance(found, str | int | float):
        return _short(f'"{found}"' if isinstance(found, str) else found)
    kinds: tuple[tuple[type, str], ...] = ((list, "a list"), (dict, "a table of keys"), (date, "a date"))
    return next((words for kind, words in kinds if isinstance(found, kind)), "this")


def _unknown_key(key: str, table: type[BaseModel] | None) -> str:
    known = [] if table is None else [field.alias or name for name, field in table.model_fields.items()]
    hint = nearest(key, known, f"The keys here are {listed(known)}.") if known else ""
    return f'There is no key "{_short(key)}" here. {hint}'.rstrip()


def _unknown_word(found: object, expected: str) -> str:
    known = [word for word in expected.replace(" or ", ", ").split(", ") if word]
    plain = [word.strip("'") for word in known]
    hint = nearest(found, plain)
    choice = f"The choice is {listed(plain)}."
    return f'"{_short(found)}" is not known here. {hint + " " if hint else ""}{choice}'


_BRACKETS: Final = frozenset({"model_type", "dict_type", "tuple_type", "model_attributes_type"})


def _brackets(error: ErrorDetails, kind: str) -> str:
    key, found = error["loc"][-1], error["input"]
    top = len(error["loc"]) == 1
    if kind == "tuple_type":
        if top and isinstance(found, dict):
            return f"Write [[{key}]] with two brackets on each side: there can be several."
        return 'A list was expected: ["…", "…"].'
    if top and isinstance(found, list):
        return f"Write [{key}] with one bracket on each side: there is only one."
    return "A table of keys was expected here."


_MESSAGES: Final[Mapping[str, str]] = {
    "string_type": "A text in quotes was expected, not {found}.",
    "string_too_short": "This text is empty. Fill it in or leave the key out.",
    "string_too_long": "This text is longer than {max_length} characters.",
    "int_type": "A whole number was expected, not {found}.",
    "int_from_float": "A whole number was expected, not {found}.",
    "int_parsing": "A whole number was expected, not {found}.",
    "float_type": "A number was expected, not {found}.",
    "float_parsing": "A number was expected, not {found}.",
    "finite_number": "A number was expected, not {found}.",
    "bool_type": "true or false was expected (without quotes), not {found}.",
    "greater_than_equal": "{found} is too small: the least is {ge}.",
    "less_than_equal": "{found} is too much: the most is {le}.",
    "too_long": "There are more than {max_length} of these.",
}
