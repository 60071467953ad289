"""Rhythms by ratio: how the notes of a group share its time, "3-1" or "2-1-1".

Kept form: the group keeps its time, so that bars stay full. Stretched form: the short notes keep their written
value and the group grows. Kept is the choice where it can be written in plain notes or in triplets of a beat,
stretched elsewhere.
Ratios and forms: string teachers' common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.spelling import VALUES
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import held, unprinted
from excerpts.variants.groups import Group, even_groups, group_time, mixed_groups, place_of
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import where
from excerpts.variants.rebar import Item
from excerpts.variants.reshare import Shared, reshare
from excerpts.variants.runs import find_runs, written
from excerpts.variants.stretch_groups import regroup

FORMS: Final = ("kept", "stretched")
_LONGEST_RATIO: Final = 16
_LARGEST_SHARE: Final = 16
_LONG: Final = 3
"""A note so many times as long as the short ones is stayed on: no staccato dot."""
_TRIPLET: Final = 3
_FOUR: Final = 4
"""Groups of this size and more are stretched, if nothing else is asked for."""
_KINDS: Final = {2: "long-short", 3: "long-short-short or burst:3", 4: "burst:4", 6: "long-five-short"}
"""Examples of variants that take groups of so many notes."""
_OTHERS: Final = "Choose another variant ('separate', 'slow') or other bars."
BEFORE: Final = "A bowing comes before a rhythm (slur:2+long-short); or choose other bars."
"""What to do where a bowing finds no run."""


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How a group shares its time.

    Attributes:
        name: As typed, for messages.
        ratio: Share of each note.
        form: "kept", "stretched", or "" for the one that reads better.
        other: Shares that make plain notes where those of the ratio do not (4-1-1 of a dotted beat); empty for none.
    """

    name: str
    ratio: tuple[int, ...]
    form: str = ""
    other: tuple[int, ...] = ()


def check_form(name: str, parameter: str) -> None:
    """Refuse what is no form.

    Raises:
        VariantError: It is neither "kept" nor "stretched".
    """
    if parameter and parameter not in FORMS:
        raise VariantError(
            f"{parameter!r} in '{name}:{parameter}' is not a form of a rhythm.",
            hint=f"Write {name}:kept (bars stay full) or {name}:stretched (the short notes keep their value).",
        )


def read_ratio(parameter: str) -> Rhythm:
    """Read "3-1" or "3-1-1-1:kept".

    Raises:
        VariantError: It is no ratio of positive whole numbers, or the form is not known.
    """
    typed = f"'rhythm:{parameter}'" if parameter else "'rhythm'"
    hint = "Give one whole number for each note of a group, like rhythm:3-1 or rhythm:2-1-1."
    text, _, form = (piece.strip() for piece in parameter.partition(":"))
    parts = text.split("-")
    if not all(re.fullmatch(r"\d{1,3}", part) for part in parts) or len(parts) < 2:
        raise VariantError(f"{typed} is not a ratio of whole numbers.", hint=hint)
    ratio = tuple(int(part) for part in parts)
    if min(ratio) < 1:
        raise VariantError(f"a note cannot be 0 long, as in {typed}.", hint=hint)
    if len(ratio) > _LONGEST_RATIO or max(ratio) > _LARGEST_SHARE:
        raise VariantError(
            f"{typed} is more than can be read: at most {_LONGEST_RATIO} notes, and none over {_LARGEST_SHARE}.",
            hint=hint,
        )
    check_form(f"rhythm:{text}", form)
    return Rhythm(f"rhythm:{parameter}", ratio, form)


def in_rhythm(line: Voice, rhythm: Rhythm) -> Voice:
    """Give the notes of each group their shares of time.

    Raises:
        VariantError: The box has no run of even notes with two groups in it, and no two figures of so many notes
            to which the ratio gives another rhythm.
    """
    size = len(rhythm.ratio)
    even = even_groups(line, size)
    plain = [] if rhythm.form == "stretched" else plain_groups(line, rhythm.ratio, rhythm.other)
    if rhythm.form == "kept":
        kept = [_shared(line, group, rhythm.ratio) for group in even if is_binary(group_time(line, group))]
    else:
        kept = plain if len(plain) == len(even) else []
    if not (kept or rhythm.form):
        kept = _triplets(line, even, rhythm.ratio)
    if kept and even:
        return reshare(line, kept)
    if even and rhythm.form != "kept":
        return _stretched(line, rhythm.ratio)
    if plain and not even:
        return reshare(line, plain)
    raise no_run(line, rhythm.name, 2 * size, size)


def plain_groups(line: Voice, ratio: Sequence[int], other: Sequence[int] = ()) -> list[Shared]:
    """Groups whose notes are plain or dotted ones in a ratio: even notes, else figures of so many notes.

    A figure that has the ratio already is left out. Ratios of four notes and more are never taken for plain.
    """
    if len(ratio) >= _FOUR:
        return []
    groups = even_groups(line, len(ratio)) or mixed_groups(line, len(ratio))
    shared: list[Shared] = []
    for group in groups:
        lengths = [line.events[note].duration for note in group.notes]
        for shares in filter(None, (ratio, other)):
            new = _shares(sum(lengths, Fraction(0)), shares)
            part = VALUES.get(min(new) / min(shares))
            if new != lengths and all(length in VALUES for length in new) and part and not part.dots:
                shared.append((group.notes, new))
                break
    return shared


def _triplets(line: Voice, groups: Sequence[Group], ratio: Sequence[int]) -> list[Shared]:
    """Groups that a ratio makes triplets inside a beat."""
    metres = bar_metres(line)
    inside = [
        group for group in groups if group_time(line, group) <= place_of(line, metres, group.start).length
    ]
    binary = [group for group in inside if is_binary(group_time(line, group))]
    return [_shared(line, group, ratio) for group in binary] if sum(ratio) == _TRIPLET else []


def _shared(line: Voice, group: Group, ratio: Sequence[int]) -> Shared:
    return group.notes, _shares(group_time(line, group), ratio)


def _shares(time: Fraction, ratio: Sequence[int]) -> list[Fraction]:
    return [time * share / sum(ratio) for share in ratio]


def no_run(line: Voice, name: str, least: int, size: int = 1, hint: str = _OTHERS) -> VariantError:
    """Say what a variant needs, and what the box has.

    Args:
        line: The line of a box.
        name: The variant as typed.
        least: Equal notes of a run, at least.
        size: Notes of a group that is counted from the beat.
        hint: What to do.
    """
    longest = max((len(run.notes) for run in find_runs(line)), default=0)
    reason = f"the longest run has {longest} notes" if longest else "there is no run of equal notes"
    if longest >= least:
        reason = f"the runs there do not divide in groups of {size} from the beat"
        reason = reason if size > 1 else "no run has as many from a beat on"
    groups = f", two groups of {size} from the beat" if size > 1 else ""
    others = [number for number in _KINDS if number != size]
    if size > 1 and not even_groups(line, size) and mixed_groups(line, size):
        reason += f", and its figures of {size} notes have this rhythm, or take it in no plain notes"
    fitting = [number for number in others if even_groups(line, number) or mixed_groups(line, number)]
    if size > 1 and fitting and hint == _OTHERS:
        kinds = ", ".join(_KINDS[number] for number in fitting)
        hint = f"Groups of {' or '.join(map(str, fitting))} notes fit there ({kinds}); or choose other bars."
    return VariantError(
        f"{name} needs a run of at least {least} equal notes{groups}; {box_bars(line)}: {reason}.",
        where=where(line),
        hint=hint,
    )


def _stretched(line: Voice, ratio: Sequence[int]) -> Voice:
    shortest = min(ratio)
    shares = [Fraction(share, shortest) for share in ratio]
    if not all(map(is_binary, shares)):
        shares = [Fraction(share) for share in ratio]

    def make(notes: Sequence[Event], following: Event | None) -> list[Item]:
        del following
        return [
            Item(held(note) if share >= _LONG else unprinted(note), written(note) * share)
            for note, share in zip(notes, shares, strict=True)
        ]

    return regroup(line, lambda source: even_groups(source, len(ratio)), make)
