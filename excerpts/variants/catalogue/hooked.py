"""Hooked bows: both notes of a pair in one direction, the bow stops between; slur, and a dot on the short note.

Pairs of a long and a short note are hooked; where there are none, pairs of even notes, with dots on both. String
players' common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

from excerpts.notes import Voice
from excerpts.variants.groups import even_groups, uneven_pairs
from excerpts.variants.new_slurs import DOT, Group, bow
from excerpts.variants.ratios import BEFORE, no_run
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import add_mark


def hooked(line: Voice, parameter: str) -> Voice:
    """Hook the pairs.

    Raises:
        VariantError: There are no pairs.
    """
    del parameter
    uneven: list[Group] = [*uneven_pairs(line)]
    even = [group.notes for group in even_groups(line, 2)] if not uneven else []
    if not uneven and not even:
        raise no_run(line, "hooked", 4, 2, BEFORE)
    made = bow(line, uneven or even, "hooked bows", (DOT,) if even else ())
    events = made.events
    for group in uneven:
        events = add_mark(events, min(group, key=lambda note: line.events[note].duration), DOT)
    return replace(made, events=events)


VARIANT = Variant(
    VariantInfo("hooked", ("bow-distribution", "rhythm"), order=65, kind="bowing"), on_line=hooked
)
