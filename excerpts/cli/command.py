"""Reads command lines: a command is a function whose signature declares its arguments, once, for help and for values.

By hand, since `cut` and `show` take 60 ms: argparse would add 8 ms to them, typer 55 ms.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple, get_args, get_origin, get_type_hints

from excerpts.errors import InputError

_LARGEST: Final = 10**8


class Arg:
    """One argument of a command, in `Annotated[type, Arg(...)]`.

    Args:
        flags: The names of an option, as "-o", "--output"; none for an argument that is known by its place.
        help: What it means, for `--help`; a function where telling it loads much.
        choices: The words that it takes, or a function that gives them; empty for any.
        low: The smallest number that it takes.
        high: The largest number that it takes.
        there: The file must be there: said before anything is loaded that could read it.
        bare: What the option means without a value, which is where none of its choices, or another option, follows.
    """

    def __init__(
        self,
        *flags: str,
        help: str | Callable[[], str],  # noqa: A002 (as `--help` is called)
        choices: Sequence[str] | Callable[[], Sequence[str]] = (),
        low: int = 0,
        high: int = _LARGEST,
        there: bool = False,
        bare: str = "",
    ) -> None:
        self.flags = flags
        self.help = help
        self.choices = choices
        self.low = low
        self.high = high
        self.there = there
        self.bare = bare


class _Parameter(NamedTuple):
    """An argument with what the signature says of it.

    Attributes:
        name: Its name there.
        arg: How it is declared.
        kinds: The types in its hint.
        needed: It has no default.
        default: Its default; None where there is none.
    """

    name: str
    arg: Arg
    kinds: set[Any]
    needed: bool
    default: object

    @property
    def title(self) -> str:
        """What messages call it."""
        return self.arg.flags[-1] if self.arg.flags else self.name.upper()

    @property
    def choices(self) -> Sequence[str]:
        """The words that it takes; empty for any."""
        return self.arg.choices() if callable(self.arg.choices) else self.arg.choices

    def value(self, text: str) -> object:
        """The value that a word stands for.

        Raises:
            InputError: It takes no such word.
        """
        arg = self.arg
        if Path in self.kinds:
            path = Path(text)
            if arg.there and not os.path.lexists(path):
                names = sorted(other.name for other in path.parent.glob(f"*{path.suffix}"))
                raise InputError("There is no such file.", where=text, hint=near(path.name, names))
            return path
        if int in self.kinds:
            if text.isascii() and text.isdecimal() and len(text) < 10 and arg.low <= int(text) <= arg.high:
                return int(text)
            limits = f" from {arg.low} to {arg.high}" if arg.high < _LARGEST else ""
            raise InputError(f"{self.title} takes a whole number{limits}, not '{text}'.")
        allowed = self.choices
        if allowed and text not in allowed:
            raise InputError(f"{self.title}: '{text}' is none of {', '.join(allowed)}.")
        return text


def call(program: str, command: Callable[..., object], words: Sequence[str]) -> object:
    """Call a command with the values that a command line gives it, or print its help.

    Args:
        program: What is typed before the arguments, as "excerpts cut".
        command: The function; its docstring is the help.
        words: The arguments.

    Raises:
        InputError: The arguments are not those of the command.
    """
    parameters = _parameters(command)
    if {"-h", "--help"} & set(words[: words.index("--")] if "--" in words else words):
        print(_help(program, command, parameters))
        return 0
    hint = f"{program} --help shows what it takes."
    values, places = _options({flag: one for one in parameters for flag in one.arg.flags}, words, hint)
    for one in (one for one in parameters if not one.arg.flags):
        several = list in one.kinds
        taken, places = (places, []) if several else (places[:1], places[1:])
        if taken:
            given = [one.value(word) for word in taken]
            values[one.name] = given if several else given[0]
    if places:
        raise InputError(f"'{places[0]}' is one argument too many.", hint=hint)
    missing = [one.title for one in parameters if one.needed and one.name not in values]
    if missing:
        raise InputError(f"{' and '.join(missing)} must be given.", hint=hint)
    for name, group in _groups(command).items():
        values[name] = group(**{field: values.pop(field) for field in group._fields if field in values})
    return command(**values)


def _parameters(command: Callable[..., object]) -> list[_Parameter]:
    names = command.__code__.co_varnames[: command.__code__.co_argcount]
    given = command.__defaults__ or ()
    defaults = dict(zip(names[len(names) - len(given) :], given, strict=True))
    hints = get_type_hints(command, include_extras=True)
    for name, group in _groups(command).items():
        del hints[name]
        hints |= get_type_hints(group, include_extras=True)
        defaults |= group._field_defaults
    return [
        _Parameter(
            name, hint.__metadata__[0], _kinds(hint.__origin__), name not in defaults, defaults.get(name)
        )
        for name, hint in hints.items()
        if name != "return"
    ]


def _groups(command: Callable[..., object]) -> dict[str, Any]:
    """The arguments that are several options declared together, as the fields of a named tuple."""
    hints = get_type_hints(command)
    return {name: hint for name, hint in hints.items() if hasattr(hint, "_field_defaults")}


def _kinds(hint: Any) -> set[Any]:
    """The types in a hint: those of `list[str] | None` are list, str and None."""
    return {get_origin(hint) or hint}.union(*(_kinds(inner) for inner in get_args(hint)))


def _options(
    options: dict[str, _Parameter], words: Sequence[str], hint: str
) -> tuple[dict[str, Any], list[str]]:
    """The values of the options by name, and the words that belong to none."""
    values: dict[str, Any] = {}
    places: list[str] = []
    rest = list(words)
    while rest:
        word = rest.pop(0)
        if word == "--":
            places += rest
            rest = []
        elif len(word) < 2 or word[0] != "-":
            places.append(word)
        else:
            flag, equals, text = word.partition("=") if word[1] == "-" else (word[:2], word[2:], word[2:])
            one = options.get(flag)
            if one is None:
                raise InputError(f"there is no option {flag}.", hint=near(flag, options) or hint)
            if bool in one.kinds:
                if equals:
                    raise InputError(f"{flag} takes no value.", hint=hint)
                values[one.name] = True
                continue
            value = text if equals else _next_value(one, rest)
            if value is None:
                raise InputError(f"{flag} needs a value.", hint=hint)
            if list in one.kinds:
                values.setdefault(one.name, []).append(one.value(value))
            else:
                values[one.name] = one.value(value)
    return values, places


def _next_value(one: _Parameter, rest: list[str]) -> str | None:
    """The value of an option: the next word, or what it means without one."""
    allowed = one.choices
    if one.arg.bare and not (rest and (rest[0] in allowed if allowed else rest[0][:1] != "-")):
        return one.arg.bare
    return rest.pop(0) if rest else None


def near(word: str, known: Iterable[str]) -> str:
    """A question after the known word that is most like another one; empty when none is."""
    from difflib import get_close_matches

    like = get_close_matches(word, list(known), 1)
    return f'Did you mean "{like[0]}"?' if like else ""


def _help(program: str, command: Callable[..., object], parameters: Sequence[_Parameter]) -> str:
    from textwrap import wrap

    usage = f"usage: {program}"
    rows = []
    for one in parameters:
        name = one.name.upper()
        several = " …" if list in one.kinds else ""
        if one.arg.flags:
            head = ", ".join(one.arg.flags) + ("" if bool in one.kinds else f" {name}")
            typed = f"{one.arg.flags[0]} {name}"
        else:
            head = typed = name + several
        if one.needed or not one.arg.flags:
            usage += f" {typed}" if one.needed else f" [{typed}]"
        default = f" Default: {one.default}." if one.default else ""
        meaning = one.arg.help if isinstance(one.arg.help, str) else one.arg.help()
        rows.append((head, meaning + default))
    rows.append(("-h, --help", "Show this."))
    text = [f"{usage} [options]", "", command.__doc__ or "", ""]
    for head, meaning in rows:
        lines = wrap(meaning, 72)
        text.append(f"  {head:<24} {lines[0]}" if len(head) < 25 else f"  {head}\n{' ' * 27}{lines[0]}")
        text += [" " * 27 + line for line in lines[1:]]
    return "\n".join(text)
