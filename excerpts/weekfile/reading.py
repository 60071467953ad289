"""Reads a user's TOML file: limited in size, with the line of a syntax error; other text files as far as that."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from excerpts.errors import WeekError
from excerpts.weekfile.cells import as_utf8
from excerpts.weekfile.faults import Fault, WeekFaultsError, key_in_words, nearest
from excerpts.weekfile.lines import KeyPath, key_lines, line_of
from excerpts.weekfile.whose import LARGEST

_LONG_KEY: Final = re.compile(r"(?:^|[\[{,])[ \t]*(?:[A-Za-z0-9_\"'-]+[ \t]*\.[ \t]*){20}", re.MULTILINE)
"""A dotted key of more parts than any file needs: reading one takes tomllib the square of its length."""

_LINE: Final = re.compile(r" \(at (?:line (?P<line>\d+), column \d+|end of document)\)$")


@dataclass(frozen=True, slots=True)
class Document:
    """A TOML file as read: its tables, and the line of every key."""

    file: Path
    raw: dict[str, Any]
    lines: dict[KeyPath, int]

    def fault(self, path: KeyPath, message: str) -> Fault:
        """A fault at a key, with its line."""
        return Fault(self.file, line_of(self.lines, path), key_in_words(path, self.raw), message, path)


def read_document(path: Path) -> Document:
    """Read a TOML file.

    Raises:
        WeekError: It is not there, too large, not text, or not TOML.
    """
    return document_of(path, read_text(path))


def document_of(path: Path, text: str) -> Document:
    """A TOML file whose text is at hand, saved or not.

    Raises:
        WeekError: It is not TOML.
    """
    if match := _LONG_KEY.search(text):
        raise WeekFaultsError(
            [Fault(path, text.count("\n", 0, match.end()) + 1, "", "This key has too many parts.")]
        )
    try:
        return Document(path, tomllib.loads(text), key_lines(text))
    except tomllib.TOMLDecodeError as error:
        raise WeekFaultsError([_syntax_fault(path, text, str(error))]) from error
    except ValueError as error:  # Python reads no integer of more than 4300 digits
        raise WeekError("A number in it is too long.", where=path.name) from error
    except RecursionError:
        raise WeekError("The brackets in it are nested too deeply.", where=path.name) from None


def read_text(
    path: Path,
    largest: int = LARGEST,
    kind: str = "week file",
    advice: str = "Save it again with the encoding UTF-8.",
) -> str:
    """Read a text file of the user's.

    Args:
        path: The file.
        largest: Bytes that it may have.
        kind: What it is, for messages.
        advice: What to do when it is not UTF-8.

    Raises:
        WeekError: It is not there, too large, or not text.
    """
    try:
        if path.is_dir():
            raise WeekError("This is a folder, not a file.", where=str(path))
        if not path.exists():
            raise WeekError("There is no such file.", where=str(path), hint=_near_file(path))
        if not path.is_file():
            raise WeekError("This is not a file that can be read.", where=str(path))
        with path.open("rb") as file:
            data = file.read(largest + 1)
    except OSError as error:
        raise WeekError(f"It cannot be read ({error.strerror}).", where=str(path)) from error
    if len(data) > largest:
        raise WeekError(f"It is larger than {largest // 1000} kB: this is not a {kind}.", where=path.name)
    data = as_utf8(data)
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = f"The file is not saved as UTF-8 text. {advice}"
        raise WeekFaultsError([Fault(path, line, "", message)]) from error


def _near_file(path: Path) -> str:
    folder = path.parent
    names = sorted(entry.name for entry in folder.glob("*.toml")) if folder.is_dir() else []
    return nearest(path.name, names)


def _syntax_fault(path: Path, text: str, reason: str) -> Fault:
    match = _LINE.search(reason)
    rows = text.split("\n")
    line = int(match["line"]) if match and match["line"] else max(len(text.rstrip("\n").split("\n")), 1)
    row = rows[line - 1] if line <= len(rows) else ""
    what = _LINE.sub("", reason)
    if what.startswith("Cannot"):  # declare twice, overwrite a value, mutate an immutable table
        name = row.partition("=")[0].strip()
        return Fault(path, line, "", f"{name} is in the file already, higher up. Keep one of the two.")
    message = f"This line is not written as TOML asks ({what[:1].lower()}{what[1:]})."
    return Fault(path, line, "", f"{message}{_syntax_hint(row)}")


def _syntax_hint(row: str) -> str:
    if row.lstrip().startswith("["):
        return " Look for brackets that do not match: here ([player], [[box]]) or in a list above."
    if any(mark in row for mark in "“”„‘’«»") and '"' not in row:
        return ' Use straight quotes: " and not “ ”.'
    key, sign, value = row.partition("=")
    if not sign:
        return ' A line is key = value, for instance bars = "12-16".'
    if not value.strip():
        return f" {key.strip() or 'The key'} has no value."
    if value.strip()[0] not in "\"'[{" and not re.match(r"[-+\d]|true\b|false\b", value.strip()):
        return f' Put texts in quotes: {key.strip()} = "{value.strip()[:40]}".'
    if value.strip()[0].isdecimal():
        return f' Put it in quotes unless it is a number or a date: {key.strip()} = "{value.strip()[:40]}".'
    return " Look for a missing quote or bracket on this line or above it."
