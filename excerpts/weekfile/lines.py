"""Finds the line of each key in a TOML file; tomllib gives lines for syntax errors only.

A small scanner of TOML 1.0 (https://toml.io/en/v1.0.0, from memory): it follows tables, arrays of tables,
dotted keys, inline tables, arrays and every kind of string, and notes where each begins. It reads only text
that tomllib has accepted, so it checks nothing itself.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Final

KeyPath = tuple[str | int, ...]
"""Keys and places in arrays from the top of the file: ("box", 1, "why", 0)."""

_BLANK: Final = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_INLINE_BLANK: Final = re.compile(r"[ \t]*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")'
    r"|'''.*?'{3,5}(?!')"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_SCALAR: Final = re.compile(r"[^,\]}#\r\n]+")
_DEEPEST: Final = 12
"""Parts of a key path that are noted; no key of ours lies deeper."""


def key_lines(text: str) -> dict[KeyPath, int]:
    """Line, counted from 1, of every key, table and array element of `text`, which is valid TOML."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def line_of(lines: Mapping[KeyPath, int], path: Sequence[str | int]) -> int | None:
    """Line of `path`, or of the nearest thing around it that has a line; None for the file as a whole."""
    for length in range(len(path), 0, -1):
        if tuple(path[:length]) in lines:
            return lines[tuple(path[:length])]
    return None


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self.counts: dict[KeyPath, int] = {}
        self._line = 1
        self._counted = 0

    def scan(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self.lines

    def _line_here(self) -> int:
        self._line += self.text.count("\n", self._counted, self.at)
        self._counted = self.at
        return self._line

    def _skip(self, what: re.Pattern[str]) -> str:
        match = what.match(self.text, self.at)
        if not match:
            return ""
        self.at = match.end()
        return match.group()

    def _note(self, path: KeyPath, line: int) -> None:
        for length in range(1, min(len(path), _DEEPEST) + 1):
            self.lines.setdefault(path[:length], line)

    def _header(self) -> KeyPath:
        line = self._line_here()
        is_array = self.text.startswith("[[", self.at)
        self.at += 2 if is_array else 1
        keys = self._dotted_key()
        self.at += 2 if is_array else 1
        path: KeyPath = ()
        for place, key in enumerate(keys):
            path = (*path, key)
            if is_array and place == len(keys) - 1:
                self.counts[path] = self.counts.get(path, 0) + 1
            if path in self.counts:
                self._note(path, line)
                path = (*path, self.counts[path] - 1)
        self._note(path, line)
        return path

    def _pair(self, table: KeyPath) -> None:
        line = self._line_here()
        path = (*table, *self._dotted_key())
        self._note(path, line)
        self.at += 1  # the equals sign
        self._value(path)

    def _dotted_key(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip(_INLINE_BLANK)
            keys.append(self._skip(_BARE_KEY) or _unquoted(self._skip(_STRING)))
            self._skip(_INLINE_BLANK)
            if not self.text.startswith(".", self.at):
                return keys
            self.at += 1

    def _value(self, path: KeyPath) -> None:
        self._skip(_BLANK)
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self._elements(path)
        elif opening == "{":
            self._inline_table(path)
        elif not self._string(path):
            self._skip(_SCALAR)

    def _string(self, path: KeyPath) -> bool:
        """A string; the rows of one that is written in several have lines of their own, counted from 0."""
        line = self._line_here()
        text = self._skip(_STRING)
        if text.startswith(('"""', "'''")) and "\\\n" not in text:
            inside = text[3:-3]
            begun = 1 if inside.startswith("\n") else 0
            for row in range(inside.count("\n") - begun + 1):
                self._note((*path, row), line + begun + row)
        return bool(text)

    def _elements(self, path: KeyPath) -> None:
        self.at += 1
        place = 0
        self._skip(_BLANK)
        while not self._closes("]"):
            self._note((*path, place), self._line_here())
            self._value((*path, place))
            place += 1
            self._comma()

    def _inline_table(self, path: KeyPath) -> None:
        self.at += 1
        self._skip(_BLANK)
        while not self._closes("}"):
            self._pair(path)
            self._comma()

    def _closes(self, bracket: str) -> bool:
        if self.at < len(self.text) and self.text[self.at] != bracket:
            return False
        self.at += 1
        return True

    def _comma(self) -> None:
        self._skip(_BLANK)
        if self.text.startswith(",", self.at):
            self.at += 1
        self._skip(_BLANK)


def _unquoted(key: str) -> str:
    """A quoted key as tomllib reads it, escapes and all."""
    if not key:
        raise ValueError("a key was expected")
    return next(iter(tomllib.loads(f"{key} = 0")))
