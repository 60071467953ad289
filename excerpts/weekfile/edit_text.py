"""Moves, changes, adds and removes tables of a week file, with every comment kept in its place.

The file is taken as blocks of text. A block is a table with the comments right above it and right below its keys;
comments after an empty line stay where they are when the table goes. tomlkit changes the keys inside a block and keeps
what is written beside them.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, MutableMapping, Sequence
from datetime import date
from difflib import SequenceMatcher
from typing import Any, Final

import tomlkit

from excerpts.weekfile.lines import key_lines

Value = str | int | date | Sequence[str]
"""What a key of a week file can be set to."""

TABLES: Final = ("piece", "box", "warmup", "technique", "retired", "parked")
HEADS: Final = ("", "player", "week", "plan")
_BARE: Final = re.compile(r"^(\s*)\[\[\s*[^\]]+?\s*\]\]")


class Block:
    """A table of the file.

    Attributes:
        name: The table's name ("box", "week", "week.minutes"); empty for what stands before the first.
        lead: Comments right above it.
        body: Its header and keys.
        trail: What follows after an empty line: it stays when the table goes.
    """

    def __init__(self, name: str, lead: str, body: str, trail: str) -> None:
        self.name = name
        self.lead = lead
        self.body = body
        self.trail = trail

    def values(self) -> dict[str, Any]:
        """Its keys and values."""
        table: Any = tomllib.loads(self.body)
        for key in self.name.split(".") if self.name else ():
            table = table[key]
        return dict(table[0] if isinstance(table, list) else table)

    def set(self, values: Mapping[str, Value | None], comments: Mapping[str, str] | None = None) -> None:
        """Set keys; None takes a key out."""
        document, table = self._parsed()
        _set(table, values)
        for key, comment in (comments or {}).items():
            table[key].comment(comment)
        self._take_over(document)

    def put(self, path: Sequence[str], value: Any) -> None:
        """Set one key, inside of a table that is the value of a key too; None takes it out.

        In a list and in a table only what differs is written anew.
        """
        document, table = self._parsed()
        for key in path[:-1]:
            table = table.setdefault(key, tomlkit.inline_table())
        put_value(table, path[-1], value)
        self._take_over(document)

    def set_inside(self, name: str, values: Mapping[str, Value | None]) -> None:
        """Set keys of a table that is the value of a key."""
        document, table = self._parsed()
        _set(table[name], values)
        self._take_over(document)

    def _parsed(self) -> tuple[Any, Any]:
        document: Any = tomlkit.parse(self.body)
        table = document
        for key in self.name.split(".") if self.name else ():
            table = table[key]
        return document, table[0] if self.name in TABLES else table

    def _take_over(self, document: Any) -> None:
        self.body = tomlkit.dumps(document)
        if not self.body.endswith("\n"):
            self.body += "\n"

    def rename(self, name: str) -> None:
        """Make it a table of another name."""
        self.body = _BARE.sub(rf"\1[[{name}]]", self.body, count=1)
        self.name = name


def _set(table: Any, values: Mapping[str, Value | None]) -> None:
    for key, value in values.items():
        if value is None:
            table.pop(key, None)
        else:
            table[key] = _item(value)


def _item(value: Value) -> Any:
    if isinstance(value, Sequence) and not isinstance(value, str):
        array = tomlkit.array()
        array.extend(value)
        return array
    return tomlkit.item(value)


def put_value(table: Any, key: str | int, value: Any) -> None:
    """Set a key of a tomlkit table, or a place of an array; in lists and tables only what differs."""
    before = table[key] if isinstance(key, int) else table.get(key)
    if value is None:
        table.pop(key, None)
    elif isinstance(value, Mapping) and isinstance(before, MutableMapping):
        for one in [name for name in before if name not in value]:
            del before[one]
        for name, inner in value.items():
            put_value(before, name, inner)
    elif isinstance(value, list) and isinstance(before, tomlkit.items.Array):
        _put_list(before, value)
    elif before is None and isinstance(table, tomlkit.items.InlineTable):
        table.append(str(key), new_item(value))  # which sets a space after the comma
    elif before is None or unwrapped(before) != value or type(unwrapped(before)) is not type(value):
        table[key] = new_item(value)


def unwrapped(item: Any) -> Any:
    """The plain value of what tomlkit read."""
    return item.unwrap() if hasattr(item, "unwrap") else item


def _put_list(array: Any, value: list[Any]) -> None:
    before = [repr(one) for one in unwrapped(array)]
    steps = SequenceMatcher(None, before, [repr(one) for one in value], autojunk=False).get_opcodes()
    for step, first, last, start, end in reversed(steps):
        if step == "equal":
            continue
        shared = min(last - first, end - start)
        for place in range(shared):
            array[first + place] = new_item(value[start + place])
        for _ in range(last - first - shared):
            del array[first + shared]
        for place, one in enumerate(value[start + shared : end]):
            array.insert(first + shared + place, new_item(one))


def new_item(value: Any) -> Any:
    """A value as it is written into a file: tables inside their line, texts of several lines as they are read."""
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, one in value.items():
            table[key] = new_item(one)
        return table
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    return _item(value)


def _header_lines(text: str) -> dict[int, str]:
    """The lines, from 0, on which a table begins, with its name."""
    rows = text.split("\n")
    headers: dict[int, str] = {}
    for path, line in key_lines(text).items():
        row = rows[line - 1].lstrip() if line <= len(rows) else ""
        names = [str(step) for step in path if isinstance(step, str)]
        inside = len(names) > 1 and names[0] in TABLES  # a table of an item goes where its item goes
        if row.startswith("[") and _is_header(row, names) and not inside:
            headers[line - 1] = ".".join(names)
    return headers


def _is_header(row: str, names: list[str]) -> bool:
    inside = row.lstrip("[").partition("]")[0]
    return re.sub(r"[\s\"']", "", inside) == ".".join(names)


def in_tables(text: str) -> bool:
    """Whether every table has its own header line, so that the file can be split by lines."""
    raw = tomllib.loads(text)
    headers = list(_header_lines(text).values())
    plain = all(not isinstance(raw.get(key), dict) or key in headers for key in ("player", "week", "plan"))
    return plain and all(headers.count(key) == len(raw.get(key, [])) for key in TABLES)


def rewritten_in_tables(text: str) -> str:
    """The file with a header for every table; comments at its top are kept."""
    raw = tomllib.loads(text)
    document = tomlkit.document()
    for key in sorted(raw, key=lambda key: isinstance(raw[key], dict | list)):
        document[key] = raw[key]
    top = re.match(r"(?:[ \t]*(?:#[^\n]*)?\n)*", text)
    return (top.group() if top else "") + tomlkit.dumps(document)


def blocks_of(text: str) -> list[Block]:
    """The blocks of a week file; where tables are written inside lines, they get headers of their own first."""
    text = text.replace("\r\n", "\n")
    if text and not text.endswith("\n"):
        text += "\n"
    text = text if in_tables(text) else rewritten_in_tables(text)
    rows = text.split("\n")[:-1]
    headers = _header_lines(text)
    starts = [(_lead_start(rows, line), line, name) for line, name in sorted(headers.items())]
    first = starts[0][0] if starts else len(rows)
    top = _body_end(rows, -1, first)
    blocks = [Block("", "", _joined(rows[:top]), _joined(rows[top:first]))]
    ends = [start for start, _, _ in starts[1:]] + [len(rows)]
    for (start, line, name), end in zip(starts, ends, strict=True):
        last = _body_end(rows, line, end)
        blocks.append(
            Block(name, _joined(rows[start:line]), _joined(rows[line:last]), _joined(rows[last:end]))
        )
    return blocks


def _joined(rows: Sequence[str]) -> str:
    return "".join(f"{row}\n" for row in rows)


def _lead_start(rows: Sequence[str], header: int) -> int:
    start = header
    while start > 0 and rows[start - 1].lstrip().startswith("#"):
        start -= 1
    # A comment that follows a key without an empty line between belongs to that key's table.
    if start > 0 and rows[start - 1].strip():
        return header
    return start


def _body_end(rows: Sequence[str], header: int, end: int) -> int:
    """The first empty line after the last key, from which nothing but comments and empty lines follow."""
    last = end
    while last > header + 1 and (not rows[last - 1].strip() or rows[last - 1].lstrip().startswith("#")):
        last -= 1
    while last < end and rows[last].strip():
        last += 1
    return last


def _part(block: Block) -> None:
    """An empty line after a block that has none, and stands in front of another."""
    if block.body + block.trail and not (block.body + block.trail).endswith("\n\n"):
        block.trail += "\n"


_DATE: Final = re.compile(r"\d{4}-\d\d-\d\d")


class WeekText:
    """The text of a week file."""

    def __init__(self, text: str) -> None:
        self.blocks = blocks_of(text)

    def text(self) -> str:
        """The file."""
        parts = (block.lead + block.body + block.trail for block in self.blocks)
        return "".join(parts).rstrip("\n") + "\n"

    def all(self, name: str) -> list[Block]:
        """The tables of a name, in order."""
        return [block for block in self.blocks if block.name == name]

    def one(self, name: str, item: str) -> Block:
        """The table of a name that has the id."""
        return next(block for block in self.all(name) if str(block.values().get("id")) == item)

    def move(self, block: Block, name: str) -> None:
        """Take a table to the end of those of another name; comments apart from it stay."""
        self._take(block)
        block.rename(name)
        block.trail = "\n"
        self._put(block)

    def copy(self, block: Block, name: str) -> Block:
        """Put a copy of a table after those of another name."""
        made = Block(block.name, "", block.body, "\n")
        made.rename(name)
        self._put(made)
        return made

    def place(self, block: Block, place: int) -> None:
        """Take a table to a place, from 0, among those of its name; comments apart from it stay."""
        self._take(block)
        others = self.all(block.name)
        if place >= len(others):
            self._put(block)
            return
        at = self.blocks.index(others[place])
        _part(self.blocks[at - 1])
        self.blocks.insert(at, block)

    def table(self, name: str) -> Block:
        """The table of a name that is there once; made where it is not there, before the items."""
        if tables := self.all(name):
            return tables[0]
        made = Block(name, "", f"[{name}]\n", "\n")
        at = max(
            (place for place, one in enumerate(self.blocks) if one.name.split(".")[0] in HEADS), default=-1
        )
        _part(self.blocks[at])
        self.blocks.insert(at + 1, made)
        return made

    def remove(self, block: Block) -> None:
        """Take a table out; comments apart from it stay."""
        self._take(block)

    def add(
        self, name: str, values: Mapping[str, Value | None], comments: Mapping[str, str] | None = None
    ) -> Block:
        """Add a table after the others of its name, with comments beside its keys."""
        block = Block(name, "", f"[[{name}]]\n", "\n")
        block.set(values, comments)
        self._put(block)
        return block

    def drop_dated_minutes(self, instead: Mapping[str, Value | None]) -> None:
        """Remove the minutes of single dates from the week, and set the keys of `instead`."""
        apart = self.all("week.minutes")
        dated = [key for key in self._minutes() if _DATE.fullmatch(key.strip())]
        changes: dict[str, Value | None] = {**dict.fromkeys(dated), **instead}
        if apart:
            apart[0].set(changes)
            return
        (block,) = self.all("week")
        block.set_inside("minutes", changes)

    def _minutes(self) -> list[str]:
        apart = self.all("week.minutes")
        values = apart[0].values() if apart else self.all("week")[0].values()["minutes"]
        return list(values)

    def _take(self, block: Block) -> None:
        place = self.blocks.index(block)
        before = self.blocks[place - 1]
        del self.blocks[place]
        before.trail += block.trail.lstrip("\n") if block.trail.strip() else ""
        block.trail = "\n"

    def _put(self, block: Block) -> None:
        places = [place for place, other in enumerate(self.blocks) if other.name == block.name]
        place = places[-1] + 1 if places else self._section_end(block.name)
        _part(self.blocks[place - 1])
        self.blocks.insert(place, block)

    def _section_end(self, name: str) -> int:
        """Where the first table of a name goes: after the tables that come before it in a week file."""
        earlier = ("", "player", "week", "week.minutes", *TABLES[: TABLES.index(name)])
        places = [place for place, block in enumerate(self.blocks) if block.name in earlier]
        return max(places, default=len(self.blocks) - 1) + 1
