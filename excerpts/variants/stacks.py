"""Which variants may be stacked: those that undo each other, or say the same thing twice, are refused.

Order matters: first which notes, then the bowing, then the rhythm, then chains, and the short form last.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

from excerpts.errors import VariantError
from excerpts.variants.registry import Stage

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
    turned = f"Write {_typed(second)}+{_typed(first)}."
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


def _typed(step: Stage) -> str:
    return step.variant.info.name + (f":{step.parameter}" if step.parameter else "")
