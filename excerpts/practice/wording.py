"""Titles and instructions of variants in the player's words."""

from __future__ import annotations

from excerpts.practice.registry import Step, parse_variant
from excerpts.words import Words


def title(variant: str, words: Words) -> str:
    """A heading for a variant or a stack of them: "Separate bows, long–short".

    Raises:
        VariantError: The variant is not known.
    """
    text = words("variant.join").join(_title(step, words) for step in parse_variant(variant))
    return text[:1].upper() + text[1:]


def instruction(variant: str, words: Words) -> str:
    """What to do, a sentence for each variant of a stack.

    Raises:
        VariantError: The variant is not known.
    """
    steps = parse_variant(variant)
    shown = [step for step in steps if len(steps) == 1 or step.variant.info.name != "as-written"]
    return " ".join(_instruction(step, words) for step in shown)


def _title(step: Step, words: Words) -> str:
    return words(_message(step, "title"), parameter=step.parameter.replace(":", ", "))


def _instruction(step: Step, words: Words) -> str:
    return words(_message(step, "instruction"), parameter=step.parameter.replace(":", ", "))


def _message(step: Step, kind: str) -> str:
    """The message for a variant; one with a parameter has texts of its own."""
    given = "_given" if step.parameter else ""
    return f"variant.{step.variant.info.name}.{kind}{given}"
