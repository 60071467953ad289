"""Titles and instructions of variants in the player's words."""

from __future__ import annotations

from itertools import groupby

from excerpts.variants.grammar import parse_variant
from excerpts.variants.registry import Stage
from excerpts.words import Words, capital


def title(variant: str, words: Words) -> str:
    """A heading for a variant or a stack of them: "Separate bows, long–short".

    Raises:
        VariantError: The variant is not known.
    """
    text = words("variant.join").join(_title(step, words) for step in parse_variant(variant))
    return capital(text)


def instruction(variant: str, words: Words) -> str:
    """What to do, a sentence for each variant of a stack.

    Raises:
        VariantError: The variant is not known.
    """
    steps = parse_variant(variant)
    shown = [step for step in steps if len(steps) == 1 or step.variant.info.name != "as-written"]
    return " ".join(_instruction(step, words) for step in shown)


def _title(step: Stage, words: Words) -> str:
    return words(_message(step, "title"), **_parameters(step, words))


def _instruction(step: Stage, words: Words) -> str:
    text = words(_message(step, "instruction"), **_parameters(step, words))
    return capital(text)


def _message(step: Stage, kind: str) -> str:
    """The message for a variant; one with a parameter has texts of its own, and one with bows in turn may have."""
    message = f"variant.{step.variant.info.name}.{kind}"
    if "-" in step.parameter and f"{message}_in_turn" in _ENGLISH:
        return f"{message}_in_turn"
    return f"{message}_given" if step.parameter else message


def _parameters(step: Stage, words: Words) -> dict[str, str]:
    """The parameter as it is typed, and as it is said: its first piece as numbers, the others as `more`."""
    first, *others = (piece.strip() for piece in step.parameter.split(":"))
    if first and not first[0].isdecimal() and f"variant.said.place.{first}" not in _ENGLISH:
        first, others = "", [first, *others]
    return {
        "parameter": first,
        "count": _said(first, "count", words),
        "times": _said(first, "times", words),
        "ordinal": _said(first, "ordinal", words),
        "place": _said(first, "place", words, whole=True),
        "rounds": _rounds(first, words),
        "groups": _said(first, "groups", words),
        "bows": _bows(first, words),
        "more": "".join(f", {_piece(piece, words)}" for piece in others),
    }


def _bows(numbers: str, words: Words) -> str:
    """Notes of bows in turn in words: "2-1-1" is "two slurred, two separate"."""
    said: list[str] = []
    for number, bows in groupby(numbers.split("-")):
        count = str(len(list(bows)))
        if number != "1":
            said += [words("variant.said.slurred", count=_said(number, "count", words))] * int(count)
            continue
        name = "1" if count == "1" else "any"
        said.append(words(f"variant.said.separate.{name}", count=_said(count, "count", words)))
    return ", ".join(said)


def _rounds(number: str, words: Words) -> str:
    name = f"variant.said.rounds.{number}"
    return words(name) if name in _ENGLISH else words("variant.said.rounds.any", n=number)


def _said(said: str, table: str, words: Words, *, whole: bool = False) -> str:
    """Numbers in words: "four", "one and three"; those that have no word stay figures."""
    ids = [(part, f"variant.said.{table}.{part}") for part in ([said] if whole else said.split("-"))]
    *before, last = [words(name) if name in _ENGLISH else part for part, name in ids]
    return words("variant.said.row", first=", ".join(before), last=last) if before else last


def _piece(piece: str, words: Words) -> str:
    """A later piece of a parameter in words: "stop on the first note"."""
    if piece.startswith("from-"):
        return words("variant.said.from", ordinal=_said(piece.removeprefix("from-"), "ordinal", words))
    name = f"variant.said.{piece}"
    return words(name) if name in _ENGLISH else piece


_ENGLISH = Words()
