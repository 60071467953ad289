"""Reads the plain forms of `cut`, `show` and `workbook` by hand: only what is certain, so that both ways mean the same.

An option that is not listed, a value out of its range, help, a wrong number of arguments: all that is left to the usual
way, which also has the words for it. The tests hold these tables to the commands as they are declared there.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NamedTuple


class Option(NamedTuple):
    """An option: the name of its value, and how that is read (None: the option stands alone)."""

    name: str
    read: Callable[[str], object] | None


class Form(NamedTuple):
    """The plain form of a command.

    Attributes:
        module: The module that does it.
        function: The function there; it takes every value by name.
        first: Name of the first argument, a path.
        others: Name of the further arguments; empty where there are none.
        options: The options.
        needed: Names without which it is not called.
        defaults: Values of what is not said.
    """

    module: str
    function: str
    first: str
    others: str
    options: dict[str, Option]
    needed: tuple[str, ...]
    defaults: dict[str, object]


class Call(NamedTuple):
    """A function, and what it is called with."""

    module: str
    function: str
    values: dict[str, Any]


def _number(low: int, high: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdecimal() and len(text) < 9 and low <= int(text) <= high):
            raise ValueError(text)
        return int(text)

    return read


def _music_file(text: str) -> Path:
    """A file that is written without engraving anything."""
    if Path(text).suffix.lower() not in (".musicxml", ".mxl"):
        raise ValueError(text)
    return Path(text)


MOST_CONTEXT: Final = 16
_OUTPUT: Final = Option("output", _music_file)
_JSON: Final = Option("as_json", None)
FORMS: Final = {
    "cut": Form(
        "excerpts.cli.cutting",
        "cut_music",
        "score",
        "address",
        {
            "-o": _OUTPUT,
            "--output": _OUTPUT,
            "--part": Option("part", str),
            "--context": Option("context", _number(0, MOST_CONTEXT)),
            "--voice": Option("voice", str),
            "--staff": Option("staff", _number(0, 10**8)),
            "--json": _JSON,
            "--force": Option("force", None),
        },
        ("score", "address", "output"),
        {"part": None, "context": 1, "voice": None, "staff": None, "as_json": False, "force": False},
    ),
    "show": Form(
        "excerpts.cli.showing",
        "show_score",
        "score",
        "",
        {"--json": _JSON, "--boxes": Option("boxes", None)},
        ("score",),
        {"as_json": False, "boxes": False, "words": None},
    ),
    "workbook": Form(
        "excerpts.cli.building",
        "build_week",
        "week",
        "",
        {
            "-o": Option("output", Path),
            "--output": Option("output", Path),
            "--new": Option("new", None),
            "--force": Option("force", None),
        },
        ("week",),
        {"output": None, "new": False, "force": False},
    ),
}


def quick_call(arguments: list[str]) -> Call | None:
    """What a command line calls, if it is one of the plain forms."""
    form = FORMS.get(arguments[0]) if arguments else None
    if form is None:
        return None
    try:
        values = _values(form, arguments[1:])
    except ValueError:
        return None
    return Call(form.module, form.function, values)


def _values(form: Form, rest: list[str]) -> dict[str, Any]:
    """The values of every name; ValueError where the line is not plain."""
    values: dict[str, Any] = {}
    plain: list[str] = []
    words = iter(rest)
    for word in words:
        if not word.startswith("-"):
            plain.append(word)
            continue
        name, sign, given = word.partition("=") if word.startswith("--") else (word, "", "")
        option = form.options.get(name)
        if option is None or (option.read is None and sign):
            raise ValueError(word)
        if option.read is None:
            values[option.name] = True
            continue
        text = given if sign else next(words, "-")
        if text.startswith("-"):
            raise ValueError(text)
        values[option.name] = option.read(text)
    if len(plain) > 1 and not form.others:
        raise ValueError("too many")
    if plain:
        values[form.first] = Path(plain[0])
    if plain[1:]:
        values[form.others] = plain[1:]
    if any(name not in values for name in form.needed):
        raise ValueError("too few")
    return {**form.defaults, **values}
