"""Accent: on the first note of a group, the second of the next, and so on; or always on the same one."""

from __future__ import annotations

import re
from dataclasses import replace

from excerpts.errors import VariantError
from excerpts.musicxml.elements import Articulation
from excerpts.notes import Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.groups import even_groups, place_of
from excerpts.variants.ratios import no_run
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.runs import find_runs
from excerpts.variants.spanning_marks import End, add_mark, map_marks

_ACCENT = Notation(Articulation("accent"))
_ACCENTS = {"accent", "strong-accent"}


def check(parameter: str) -> None:
    """Refuse a parameter that is not a note of a group.

    Raises:
        VariantError: It is not a number from 1 to 8.
    """
    if parameter and not re.fullmatch(r"[1-8]", parameter):
        raise VariantError(
            f"{parameter!r} in 'accent:{parameter}' is not a note of a group.",
            hint="Write accent:2 for the second note of each, or 'accent' to move it on.",
        )


def accent(line: Voice, parameter: str) -> Voice:
    """Accent one note of each beat; the accents of the source on these notes go.

    Raises:
        VariantError: No run fills two beats, or the beats have fewer notes.
    """
    groups = _groups(line)
    wanted = int(parameter) if parameter else 0
    if not groups or wanted > max(len(group) for group in groups):
        size = max(2, wanted)
        raise no_run(line, "accent" + (f":{parameter}" if parameter else ""), 2 * size, size)
    varied = {note for group in groups for note in group}

    def change(end: End, mark: Notation) -> Notation | None:
        return None if end.event in varied and mark.name in _ACCENTS else mark

    events = map_marks(line.events, change)
    for number, group in enumerate(groups):
        place = wanted - 1 if wanted else number % len(group)
        if place < len(group):
            events = add_mark(events, group[place], _ACCENT)
    return replace(line, events=events)


def _groups(line: Voice) -> list[tuple[int, ...]]:
    """The notes of each beat that a run fills; of each pair of beats where a beat is one note."""
    metres = bar_metres(line)
    groups: list[tuple[int, ...]] = []
    for run in find_runs(line):
        beats: list[tuple[int, ...]] = []
        for place, note in enumerate(run.notes):
            here = place_of(line, metres, line.events[note].onset)
            size = here.length / run.unit
            number = size.numerator if size.denominator == 1 and not here.inside else 0
            if number > 1 and place + number <= len(run.notes):
                beats.append(run.notes[place : place + number])
        groups += beats if len(beats) > 1 else []
    return groups or [group.notes for group in even_groups(line, 2)]


VARIANT = Variant(
    VariantInfo("accent", ("uneven", "rhythm"), parameter="NOTE", order=78, shown=("", "2")),
    on_line=accent,
    check=check,
)
