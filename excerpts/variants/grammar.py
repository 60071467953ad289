"""Reads variants as teachers type them, and refuses stacks that undo each other, or say the same thing twice.

Order matters: first which notes, then the bowing, then the rhythm, then chains, and the short form last.
"""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from itertools import combinations
from typing import Final

from excerpts.errors import VariantError
from excerpts.instruments.instrument_names import is_instrument
from excerpts.variants.registry import Stage, registered


def parse_variant(text: str) -> tuple[Stage, ...]:
    """Read a variant as teachers type it: names stacked by "+", a parameter after a colon.

    Raises:
        VariantError: A name is not known (the nearest are told), a parameter makes no sense, or the variants do
            not go together.
    """
    steps = tuple(_parse_step(part.strip(), text) for part in text.split("+"))
    check_stack(steps, text)
    return steps


def in_double_values(text: str) -> str:
    """A stack with its values doubled: before the short form, which comes last.

    Raises:
        VariantError: It is no stack.
    """
    steps = parse_variant(text)
    typed = [step.typed for step in steps]
    if "doubled" in typed:
        return text
    last = len(typed) - (typed[-1] == "short")
    return "+".join([*typed[:last], "doubled", *typed[last:]])


def for_player(text: str, player: str) -> str:
    """A stack that is made for a player's instrument, where a variant asks for one and none is named.

    Raises:
        VariantError: It is no stack.
    """
    typed: list[str] = []
    for step in parse_variant(text):
        pieces = [piece.strip() for piece in step.parameter.split(":") if piece.strip()]
        asks = step.variant.info.parameter.split("|")[0] == "INSTRUMENT"
        if asks and not any(map(is_instrument, pieces)):
            pieces.insert(0, player)
        typed.append(":".join([step.variant.info.name, *pieces]))
    return "+".join(typed)


def _parse_step(part: str, text: str) -> Stage:
    name, colon, parameter = (piece.strip() for piece in part.partition(":"))
    name = name.lower()
    known = registered()
    if name not in known:
        near = get_close_matches(name, known, n=2, cutoff=0.5)
        guess = f"Did you mean {' or '.join(repr(one) for one in near)}?" if near else ""
        raise VariantError(
            f"there is no variant {name!r}." if name else f"a name is missing in {text!r}.",
            hint=guess or f"There are: {', '.join(known)}; stack them with +.",
        )
    variant = known[name]
    if colon and not variant.info.parameter:
        raise VariantError(f"{name!r} takes nothing after a colon.", hint=f"Write just {name!r}.")
    if colon and not parameter:
        raise VariantError(f"nothing follows the colon of {part!r}.", hint=f"Write {variant.info.usage}.")
    if variant.check is not None:
        variant.check(parameter)
    return Stage(variant, parameter)


_ONE_OF: Final = {
    "rhythm": "give the notes another rhythm",
    "chain": "play the passage in steps",
    "hand": "take one hand away",
    "line": "choose which notes are played",
    "tempo": "set the tempo",
}
"""Of these kinds a stack has one at most, and why."""

_BOWS: Final = {"slur", "hooked", "portato"}
"""Bowings of runs: of these a stack has one at most."""


def check_stack(steps: Sequence[Stage], text: str) -> None:
    """Refuse a stack that makes no sense.

    Args:
        steps: The variants in order.
        text: The stack as typed.

    Raises:
        VariantError: Two of them do not go together, or their order makes no sense; the message says why.
    """
    for first, second in combinations(steps, 2):
        reason, hint = _clash(first, second)
        if reason:
            raise VariantError(f"'{text}' makes no sense: {reason}.", hint=hint)


def _clash(first: Stage, second: Stage) -> tuple[str, str]:
    """Why a variant cannot stand before another, and what to write instead; "" where it can."""
    one, other = first.variant.info, second.variant.info
    names = {one.name, other.name}
    both = f"{one.name!r} and {other.name!r}"
    apart = f"Ask for two variants: {one.name} and {other.name}."
    turned = f"Write {second.typed}+{first.typed}."
    if one.name == other.name:
        return ("", "") if one.again else (f"{one.name!r} is in it twice", f"Write {one.name} once.")
    if one.kind == other.kind and one.kind in _ONE_OF:
        return f"{both} each {_ONE_OF[one.kind]}", apart
    if names <= _BOWS:
        return f"{both} each set a new bowing for the runs", apart
    if one.name in _BOWS and other.name == "separate":
        return (
            f"'separate' takes off the slurs that {one.name!r} has made",
            f"Leave one of them out. {turned}",
        )
    if one.name == "short":
        return f"'short' leaves out the bars that {other.name!r} is made of", turned
    if other.name == "short" and one.kind == "chain":
        return (
            f"each step of {one.name!r} is other notes, so that there is nothing to go on like",
            "Leave 'short' out.",
        )
    if one.kind == "chain" and other.kind in {"rhythm", "bowing", "line"}:
        return f"the steps of {one.name!r} come last", turned
    if names & {"acceleration"} and "rhythm" in {one.kind, other.kind}:
        return f"{both} each give the notes another rhythm", apart
    if one.name == "open-strings" and other.name in {"stop-before-shift", "ringing", "left-hand"}:
        return "on open strings there is no left hand", "Leave one of them out."
    return "", ""
