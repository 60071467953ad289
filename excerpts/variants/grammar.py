"""Reads variants as teachers type them."""

from __future__ import annotations

from difflib import get_close_matches

from excerpts.errors import VariantError
from excerpts.variants.registry import Stage, registered
from excerpts.variants.stacks import check_stack


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
    typed = [step.variant.info.name + (f":{step.parameter}" if step.parameter else "") for step in steps]
    if "doubled" in typed:
        return text
    last = len(typed) - (typed[-1] == "short")
    return "+".join([*typed[:last], "doubled", *typed[last:]])


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
