"""Changes to the text of a week file, each made where it stands: all other lines stay as they are.

Comments, the order of keys, keys that are not known, line ends and spaces are kept. What is read from the new text is
compared with what was asked for, so that no change can do more or less than it says.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any, Final, Literal

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT

from excerpts.weekfile.days import minutes_table
from excerpts.weekfile.edit_text import TABLES, Block, WeekText, in_tables, put_value, rewritten_in_tables
from excerpts.weekfile.lines import KeyPath

_BOM: Final = "\ufeff"


@dataclass(frozen=True, slots=True)
class Change:
    """One change to a week file.

    Attributes:
        do: Set a key, add an item to a table, remove an item, or move it.
        path: The key that is set, ("box", 2, "note") or ("week", "minutes", "tue"); the table that an item is added
            to, ("box",); the item that is removed or moved, ("box", 2). Places count from 0.
        value: What the key is set to, None to take it out; the keys of the item that is added.
        to: The place that an item is added at or moved to, counted without itself; None for the last.
    """

    do: Literal["set", "add", "remove", "move"]
    path: KeyPath
    value: Any = None
    to: int | None = None


def changed_text(text: str, changes: Iterable[Change]) -> str:
    """The text with the changes made, in their order; later paths count as the earlier changes left the file.

    Args:
        text: A week file, with whatever line ends and first mark it has.
        changes: The changes; none gives the very same text.

    Raises:
        KeyError, IndexError: A path leads nowhere.
        tomllib.TOMLDecodeError: The text is no TOML.
    """
    for change in changes:
        text = _changed(text, change)
    return text


def _changed(text: str, change: Change) -> str:
    mark = _BOM if text.startswith(_BOM) else ""
    plain = text.removeprefix(_BOM).replace("\r\n", "\n")
    raw = tomllib.loads(plain)
    if change.do == "add" and raw.get(str(change.path[0])) == []:  # an empty list inside its line
        text = _changed(text, Change("set", change.path))
        return _changed(text, change)
    change = _minutes_of_one_day(raw, change)
    wanted = applied(raw, change)
    if repr(wanted) == repr(raw):
        return text
    made = _made(plain, change, wanted)
    tail = plain[len(plain.rstrip("\n")) :]
    return mark + _with_line_ends(text.removeprefix(_BOM), made.rstrip("\n") + tail)


def _minutes_of_one_day(raw: dict[str, Any], change: Change) -> Change:
    """Minutes that are one number for all days become a table before one of its days is set."""
    if change.do != "set" or change.path[:2] != ("week", "minutes") or len(change.path) != 3:
        return change
    table = minutes_table(raw.get("week", {}).get("minutes", {}))
    if isinstance(raw.get("week", {}).get("minutes"), dict):
        return change
    days = {**table, str(change.path[2]): change.value}
    value = {day: minutes for day, minutes in days.items() if minutes is not None}
    return Change("set", change.path[:2], value)


def applied(raw: dict[str, Any], change: Change) -> dict[str, Any]:
    """The tables of a file as they are after a change."""
    wanted = copy.deepcopy(raw)
    *outer, last = change.path
    if change.do == "add":
        items = wanted.setdefault(str(last), [])
        items.insert(len(items) if change.to is None else change.to, dict(change.value))
        return wanted
    inside: Any = wanted
    for step in outer:
        inside = inside[step] if isinstance(step, int) else inside.setdefault(step, {})
    if change.do == "set":
        inside[last] = change.value
        if change.value is None:
            del inside[last]
        return wanted
    item = inside.pop(last)
    if change.do == "move":
        inside.insert(len(inside) if change.to is None else change.to, item)
    if not inside:
        del wanted[str(outer[-1])]
    return wanted


def _made(text: str, change: Change, wanted: dict[str, Any]) -> str:
    """The text after a change, by the way that keeps most of it."""
    way = _in_blocks if in_tables(text) else _in_document
    try:
        made = way(text, change)
        if tomllib.loads(made) == wanted:
            return made
    except (TOMLKitError, tomllib.TOMLDecodeError, KeyError, StopIteration):
        pass  # tomlkit cannot do it in the text as it is; with a header for each table it can
    made = _in_blocks(rewritten_in_tables(text), change)
    if tomllib.loads(made) != wanted:
        raise RuntimeError(f"a change to a week file came out otherwise than it was asked for: {change}")
    return made


def _in_blocks(text: str, change: Change) -> str:
    week = WeekText(text)
    table, *inside = change.path
    name = str(table)
    if change.do == "add":
        block = week.add(name, {})
        for key, value in change.value.items():
            block.put((key,), value)
        if change.to is not None:
            week.place(block, change.to)
        return week.text()
    if name in TABLES and inside:
        block = week.all(name)[int(inside[0])]
        if change.do == "set":
            block.put([str(key) for key in inside[1:]], change.value)
        elif change.do == "remove":
            week.remove(block)
        else:
            week.place(block, len(week.all(name)) if change.to is None else change.to)
        return week.text()
    _set_in_tables(week, [str(key) for key in change.path], change.value)
    return week.text()


def _set_in_tables(week: WeekText, keys: list[str], value: Any) -> None:
    """Set a key of the file, of a table, or of a table inside of one, wherever its header stands."""
    outer = ".".join(keys[:-1])
    if written := week.all(".".join(keys)):
        _put_table(week, written[0], value)
    elif len(keys) == 1:
        week.blocks[0].put(keys, value)
    elif len(keys) > 2 and week.all(outer):
        week.table(outer).put(keys[-1:], value)
    else:
        week.table(keys[0]).put(keys[1:], value)


def _put_table(week: WeekText, block: Block, value: Any) -> None:
    """A table with a header of its own, such as [week.minutes], gets other keys, or goes."""
    if isinstance(value, dict):
        for key in dict.fromkeys((*block.values(), *value)):
            block.put((key,), value.get(key))
        return
    for one in [one for one in week.blocks if f"{one.name}.".startswith(f"{block.name}.")]:
        week.remove(one)
    if value is not None:
        _set_in_tables(week, block.name.split("."), value)


def _in_document(text: str, change: Change) -> str:
    """For tables that are written inside lines."""
    document: Any = tomlkit.parse(text)
    *outer, last = change.path
    inside = document
    for step in outer:
        inside = inside[step]
    if change.do == "set":
        put_value(inside, last, change.value)
    elif change.do == "add":
        items = document[last]
        made = tomlkit.table() if isinstance(items, AoT) else tomlkit.inline_table()
        for key, value in change.value.items():
            put_value(made, key, value)
        items.insert(len(items) if change.to is None else change.to, made)
    else:
        item = inside.pop(int(last))
        if change.do == "move":
            inside.insert(len(inside) if change.to is None else change.to, item)
    return tomlkit.dumps(document)


def _with_line_ends(before: str, after: str) -> str:
    """Give each line the end that it had; new lines, that of the first."""
    count = before.count("\r\n")
    if not count:
        return after
    if count == before.count("\n"):
        return after.replace("\n", "\r\n")
    old = re.findall(r"[^\n]*\n|[^\n]+", before)
    plain = [row.replace("\r\n", "\n") for row in old]
    new = re.findall(r"[^\n]*\n|[^\n]+", after)
    usual = "\r\n" if old[0].endswith("\r\n") else "\n"
    rows: list[str] = []
    for step, first, last, start, end in SequenceMatcher(None, plain, new, autojunk=False).get_opcodes():
        same = step == "equal"
        rows += old[first:last] if same else [row.replace("\n", usual) for row in new[start:end]]
    return "".join(rows)
