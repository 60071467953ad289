"""What the functions of the package are given: a value of another kind is a sentence, not an error deep inside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from excerpts.errors import ArgumentError


def text_of(value: object, what: str, like: str) -> str:
    """A text, or a whole number in place of one.

    Args:
        value: What was given.
        what: What it is for, as messages name it ("an address").
        like: How it is written, as Python has it ('"41-48"').

    Raises:
        ArgumentError: It is neither.
    """
    if isinstance(value, str):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    raise ArgumentError(f"{what} is a text, and {_shown(value)} is not one.", hint=f"Write it like {like}.")


def count_of(value: object, what: str, least: int = 0) -> int:
    """A whole number from `least` on.

    Args:
        value: What was given.
        what: What it is for, as messages name it ("context").
        least: The smallest number that makes sense.

    Raises:
        ArgumentError: It is no such number.
    """
    if isinstance(value, int) and not isinstance(value, bool) and value >= least:
        return value
    raise ArgumentError(f"{what} is a whole number, {least} or more, and {_shown(value)} is not one.")


def texts_of(value: object, what: str, like: str) -> Sequence[str]:
    """Texts in a list; one text alone stands for a list of it.

    Raises:
        ArgumentError: It is no list of texts.
    """
    if isinstance(value, str):
        return (value,)
    if isinstance(value, Iterable) and not isinstance(value, bytes | dict):
        return tuple(text_of(one, what, like) for one in value)
    raise ArgumentError(f"{what} is a text in a list, and {_shown(value)} is none.", hint=f"Write [{like}].")


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"a value of type {type(value).__name__}"
