"""Writes a first week file as a person would: short tables, and a word on what may be added."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date
from typing import Any, Final

_TABLES: Final = ("piece", "box", "warmup", "technique")
_HEAD: Final = """\
# Written by `excerpts new`; change it as you like. `excerpts check` finds every fault.
format = 1
"""


def week_text(raw: Mapping[str, Any]) -> str:
    """The text of a week file.

    Args:
        raw: Its tables, as tomllib would read them.
    """
    lines = [_HEAD]
    for name in ("player", "week", "plan"):
        if name in raw:
            lines.append(table_text(f"[{name}]", raw[name]))
    for name in _TABLES:
        lines += [table_text(f"[[{name}]]", item) for item in raw.get(name, ())]
    return "\n".join(lines)


def table_text(head: str, items: Mapping[str, Any]) -> str:
    """A table of a week file, under its head in brackets."""
    rows = [f"{key} = {value_text(value)}" for key, value in items.items()]
    return "\n".join([head, *rows, ""])


def value_text(value: Any) -> str:
    """A value as TOML has it.

    Raises:
        TypeError: A week file has no values of this kind.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list | tuple):
        return f"[{', '.join(value_text(one) for one in value)}]"
    if isinstance(value, Mapping):
        pairs = (f"{_key(key)} = {value_text(one)}" for key, one in value.items())
        return f"{{{', '.join(pairs)}}}"
    raise TypeError(f"{type(value).__name__} in a week file")


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key)
