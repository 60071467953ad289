"""What a page changes in a week file: as pages send it, and as functions from text to text.

A page sends a list of changes, each a table::

    {"do": "set",    "path": ["box", 2, "note"], "value": "Elbow first"}     "" or null takes the key out
    {"do": "set",    "path": ["week", "minutes", "tue"], "value": "20"}
    {"do": "add",    "path": ["box"], "value": {"piece": "ferry", "bars": "12-16"}, "to": 0}
    {"do": "move",   "path": ["box", 2], "to": 0}                            "to" counts without the item itself
    {"do": "remove", "path": ["box", 2]}

Places count from 0, in the file as the changes before left it. Values come as they were typed, as texts: what goes
into the file (a number, a date, a list) is told by the field. What cannot be right is written as it was typed, and
`check` says what is wrong with it.

A change keeps every comment, the order of keys, keys that are not known and line ends; the text may begin with a byte
order mark. Nothing is written here: `excerpts.desk.saves` writes. Items of a set that several players share are not in
the week file's own text: see `excerpts.desk.week_texts`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from typing import Any, Final

from excerpts.desk.week_fields import field_at, typed_value
from excerpts.errors import InputError
from excerpts.weekfile.change_text import Change, changed_text
from excerpts.weekfile.edit_text import TABLES
from excerpts.weekfile.new.typed import box_id, piece_id

_MOST: Final = 1_000
"""Changes that a page sends at a time."""

_DEEPEST: Final = 4


def changed(text: str, changes: Collection[Change], taken: Collection[str] = ()) -> str:
    """The text with all changes made, in their order; none gives the very same text.

    Args:
        text: The week file.
        changes: The changes, their values as they were typed.
        taken: Ids that shared sets have, so that no new item gets one of them.

    Raises:
        InputError: A change leads to nothing that is there: the page is older than the text.
    """
    for change in changes:
        try:
            text = changed_text(text, [_typed(text, change, taken)])
        except (KeyError, IndexError, TypeError, AttributeError) as error:
            where = " ".join(str(step) for step in change.path)
            raise InputError(
                f"the week file has no place for this: {change.do} {where}.",
                hint="Load the page again. If it says the same then, mend first what is told at the top.",
            ) from error
    return text


def _typed(text: str, change: Change, taken: Collection[str]) -> Change:
    """A change with the value that goes into the file."""
    if change.do == "set":
        return Change("set", change.path, typed_value(field_at(change.path), change.value))
    if change.do != "add":
        return change
    table = str(change.path[0])
    values = {key: typed_value(field_at((table, key)), one) for key, one in change.value.items()}
    values = {key: one for key, one in values.items() if one is not None}
    if table in ("box", "piece") and "id" not in values:
        values = {"id": _free_id(text, table, values, taken), **values}
    return Change("add", change.path, values, change.to)


def _free_id(text: str, table: str, values: Mapping[str, Any], taken: Collection[str]) -> str:
    """An id for a new item: of its title, or of its piece and bars; one that no item of any table has."""
    raw = tomllib.loads(text.removeprefix("\ufeff"))
    tables = ("piece",) if table == "piece" else ("box", "retired", "parked")
    lists = [raw.get(name) for name in tables]
    there = [
        str(item.get("id"))
        for items in lists
        if isinstance(items, list)
        for item in items
        if isinstance(item, dict)
    ]
    known = {*there, *taken}
    if table == "piece":
        return piece_id(str(values.get("title", "")), known)
    place = next((str(values[key]) for key in ("bars", "place", "page") if key in values), "")
    return box_id(str(values.get("piece", "")), place, known)


def read_changes(sent: object) -> list[Change]:
    """The changes that a page has sent.

    Raises:
        InputError: It is not a list of changes.
    """
    if not isinstance(sent, list) or len(sent) > _MOST:
        raise InputError(f"a list of at most {_MOST} changes was expected.")
    return [_read(one) for one in sent]


def _read(sent: object) -> Change:
    given = sent if isinstance(sent, dict) else {}
    do, path, value, to = (given.get(key) for key in ("do", "path", "value", "to"))
    known = do in ("set", "add", "remove", "move") and isinstance(path, list) and 0 < len(path) <= _DEEPEST
    steps = path if isinstance(path, list) else []
    known &= all(isinstance(step, str) or (type(step) is int and 0 <= step < _MOST * 2) for step in steps)
    known &= to is None or (type(to) is int and 0 <= to < _MOST * 2)
    if do == "add":
        known &= len(steps) == 1 and steps[0] in TABLES and isinstance(value, dict)
    elif do in ("remove", "move"):
        known &= len(steps) == 2 and steps[0] in TABLES and type(steps[1]) is int
    else:
        whole = len(steps) == 2 and steps[0] in TABLES and given.get("scope") == "own"
        known &= bool(steps) and (isinstance(steps[-1], str) or whole) and _is_value(value)
    if not known or steps[:1] == ["format"]:
        raise InputError("this is not a change to a week file.")
    return Change(do, tuple(steps), value, to)  # type: ignore[arg-type]


def _is_value(value: object) -> bool:
    """Whether a value is text, number, yes or no, a list of these, or a table of these."""
    if isinstance(value, list):
        return all(_is_value(one) and not isinstance(one, dict) for one in value)
    if isinstance(value, dict):
        return all(_is_value(one) and not isinstance(one, dict) for one in value.values())
    return value is None or isinstance(value, str | bool | int | float)
