"""Applies a variant, or a stack of them, to an excerpt."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import Final

from excerpts.arguments import count_of, text_of
from excerpts.errors import ArgumentError, VariantError
from excerpts.excerpt import Excerpt, bar_name
from excerpts.musicxml.tablature import undrawable
from excerpts.notes import Voice, read_line, write_line
from excerpts.notes.rounding import finest_parts, unrounded
from excerpts.variants.grammar import parse_variant
from excerpts.variants.passage import take_box, where
from excerpts.words import Words

_LONGEST_BAR: Final = 400
"""Quarter notes: a cadenza of some minutes in one bar."""

_FINEST: Final = 20_000
"""Parts of a quarter note that a length may be counted in; programs count in 10,080 at the most."""


def vary(
    excerpt: Excerpt,
    text: str,
    voice: str | None = None,
    staff: int | None = None,
    words: Words | None = None,
) -> Excerpt:
    """Make a practice variant of an excerpt.

    Variants of the notes show the bars of the box alone, and the note that it runs into. Variants that
    leave the notes alone ("as-written", "slow") keep the context.

    Args:
        excerpt: Music of one part. Cut it with at least one bar of context, so that the arrival is known.
        text: A variant, or several stacked in order: "long-short", "slow:60", "separate+long-short".
        voice: Which voice, where several sound in the box.
        staff: Which staff, likewise.
        words: For what is written over the notes; English where they are left out.

    Raises:
        VariantError: The variant is not known, or does not fit the passage (the message says which bars
            and why), or the excerpt has more than one part.
        ArgumentError: It is no excerpt, or the variant is no text.
    """
    _check_arguments(excerpt, text)
    voice = None if voice is None else text_of(voice, "a voice", '"2"')
    staff = None if staff is None else count_of(staff, "staff", least=1)
    steps = parse_variant(text)
    finest = _finest_parts(excerpt)
    if len(finest) > 1:
        raise VariantError(
            f"a variant is made of one part, and the excerpt has {len(finest)}.",
            where=where(excerpt),
            hint="Cut the bars out of the one part.",
        )
    if any(step.variant.on_excerpt is None for step in steps):
        _refuse_implausible(excerpt, finest[0] if finest else [])
    current: Excerpt | Voice = excerpt
    taken = False
    for step in steps:
        if step.variant.on_excerpt is not None:
            current = write_line(current) if isinstance(current, Voice) else current
            current = step.variant.on_excerpt(current, step.parameter)
        else:
            if isinstance(current, Excerpt):
                current = read_line(current) if taken else take_box(_exact(current), voice, staff)
                taken = True
            current = step.variant.vary_line(current, step.parameter, words or Words())
    result = write_line(current) if isinstance(current, Voice) else current
    if taken:
        _refuse_lost_frets(excerpt, result)
    name = "+".join(step.typed for step in steps)
    before = f"{excerpt.origin.variant}+" if excerpt.origin.variant else ""
    return replace(result, origin=replace(result.origin, variant=before + name))


def _check_arguments(excerpt: object, text: object) -> None:
    if not isinstance(excerpt, Excerpt):
        raise ArgumentError(
            f"a variant is made of an excerpt, and this is of type {type(excerpt).__name__}.",
            hint='Cut one first: part.passage("41-48").cut().',
        )
    if not isinstance(text, str):
        raise ArgumentError(
            f"a variant is a text, and this is of type {type(text).__name__}.",
            hint='Stack several with + in one text, as "separate+long-short", or call vary once for each.',
        )


def _refuse_lost_frets(excerpt: Excerpt, made: Excerpt) -> None:
    """Refuse a variant that leaves notes of a tablature without their place on it."""
    if b"TAB" in made.xml and next(undrawable(made.tree()), None) is not None:
        raise VariantError(
            "this variant gives tablature notes without a string and a fret.",
            where=where(excerpt),
            hint="Take it from the part in notes.",
        )


_exact = lru_cache(maxsize=16)(unrounded)  # the variants of a box are made one after another
_finest_parts = lru_cache(maxsize=16)(finest_parts)


def _refuse_implausible(excerpt: Excerpt, finest: Iterable[int]) -> None:
    """Refuse bars with implausibly long or short durations, which come from sources with wrong divisions.

    To look for beats in them would take for ever.

    Args:
        excerpt: The excerpt.
        finest: For each bar the finest part of a quarter note in it.
    """
    fault = ""
    for index, (bar, parts) in enumerate(zip(excerpt.bars, finest, strict=False)):
        name = bar_name(excerpt.bars, index)
        if bar.length > _LONGEST_BAR:
            fault = f"{name} is {float(bar.length):g} quarter notes long."
        elif parts > _FINEST:
            fault = f"the notes of {name} are counted in {parts:,} parts of a quarter note."
        if fault:
            hint = "Something is wrong with its durations in the score."
            raise VariantError(fault, where=where(excerpt), hint=hint)
