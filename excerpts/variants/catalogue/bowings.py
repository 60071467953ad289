"""Bowings of runs: separate bows, slurs, portato, hooked bows. String players' common practice, no source.

Slurs go over twos, threes, fours, or in turns like one and three; what is left over is separate. Portato is several
notes in one bow, each with a gentle start: slur and dashes. Hooked bows take both notes of a pair in one direction, and
the bow stops between: slur, and a dot on the short note.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.variants.groups import even_groups, uneven_pairs
from excerpts.variants.new_slurs import DOT, LEAST, Group, bow, groups_of, separate_bows
from excerpts.variants.ratios import BEFORE, no_run
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import add_mark
from excerpts.variants.strokes_of_bow import DASH


def separate(line: Voice, parameter: str) -> Voice:
    """Take the slurs off, and the bow signs that only they needed."""
    del parameter
    return separate_bows(line)


_PLAIN: Final = "2"
_MOST: Final = 24
"""Notes in a bow, at most: three octaves of a scale."""


def read_bows(parameter: str) -> tuple[int, ...]:
    """Read "4" or "1-3".

    Raises:
        VariantError: It is not numbers of notes with hyphens between, all are 1, or they are too many.
    """
    hint = "Write how many notes go to a bow, like slur:4, or in turn, like slur:1-3."
    parts = [part.strip() for part in parameter.split("-")]
    if not all(re.fullmatch(r"\d{1,2}", part) for part in parts):
        raise VariantError(
            f"{parameter!r} in 'slur:{parameter}' is not a number of notes to a bow.", hint=hint
        )
    bows = tuple(int(part) for part in parts)
    if min(bows) < 1:
        raise VariantError(f"no bow has 0 notes, as in 'slur:{parameter}'.", hint=hint)
    if max(bows) == 1:
        raise VariantError(
            f"'slur:{parameter}' slurs nothing.", hint="Write 'separate' for a bow to each note."
        )
    if sum(bows) > _MOST:
        raise VariantError(f"'slur:{parameter}' is more than {_MOST} notes.", hint=hint)
    return bows


def check_slur(parameter: str) -> None:
    """Refuse a parameter that is no bowing.

    Raises:
        VariantError: It is not numbers of notes.
    """
    read_bows(parameter or _PLAIN)


def slur(line: Voice, parameter: str) -> Voice:
    """Slur the runs anew; old slurs and dots of these notes go.

    Raises:
        VariantError: No run is long enough.
    """
    bows = read_bows(parameter or _PLAIN)
    groups = groups_of(line, bows)
    if not groups:
        raise no_run(line, f"slur:{parameter or _PLAIN}", max(sum(bows), LEAST), hint=BEFORE)
    return bow(line, groups, "slurred anew")


_COUNTS: Final = ("2", "3", "4", "6", "8")


def check_portato(parameter: str) -> None:
    """Refuse a parameter that is not a number of notes to a bow.

    Raises:
        VariantError: It is not 2, 3, 4, 6 or 8.
    """
    if parameter and parameter not in _COUNTS:
        raise VariantError(
            f"{parameter!r} in 'portato:{parameter}' is not a number of notes to a bow.",
            hint=f"Choose from {', '.join(_COUNTS)}, like portato:4.",
        )


def portato(line: Voice, parameter: str) -> Voice:
    """Play the runs in pulses.

    Raises:
        VariantError: No run is long enough.
    """
    count = int(parameter or _COUNTS[0])
    groups = groups_of(line, (count,))
    if not groups:
        raise no_run(line, f"portato:{count}", max(count, LEAST), hint=BEFORE)
    return bow(line, groups, "in pulses", (DASH,))


def hooked(line: Voice, parameter: str) -> Voice:
    """Hook the pairs of a long and a short note; where there are none, pairs of even notes, with dots on both.

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


VARIANTS = (
    Variant(
        VariantInfo(
            "separate",
            ("coordination", "crossing", "speed", "intonation", "tone"),
            order=20,
            kind="bowing",
            again=True,
        ),
        on_line=separate,
    ),
    Variant(
        VariantInfo(
            "slur",
            ("bow-distribution", "crossing", "coordination", "tone"),
            parameter="NUMBERS",
            order=64,
            kind="bowing",
            shown=("2", "3", "4", "6", "8", "1-3", "3-1", "2-1-1", "1-1-2"),
        ),
        on_line=slur,
        check=check_slur,
    ),
    Variant(
        VariantInfo(
            "portato",
            ("bow-distribution", "tone", "coordination"),
            parameter="|".join(_COUNTS),
            order=66,
            kind="bowing",
            shown=("2", "4"),
        ),
        on_line=portato,
        check=check_portato,
    ),
    Variant(VariantInfo("hooked", ("bow-distribution", "rhythm"), order=65, kind="bowing"), on_line=hooked),
)
