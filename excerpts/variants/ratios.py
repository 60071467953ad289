"""Rhythms by ratio: how the notes of a group share its time, "3-1" or "2-1-1".

Kept form: the group keeps its time, so that bars stay full. Stretched form: the short notes keep their written
value and the group grows. Kept is the choice where it can be written in plain notes, stretched elsewhere.
Ratios and forms: string teachers' common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, TimedElement, Voice
from excerpts.notes.spelling import VALUES
from excerpts.variants.clipping import held, unprinted
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.pairs import as_written, bar_list, box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item
from excerpts.variants.runs import Grouped, Run, find_runs, from_the_beat, on_the_beat
from excerpts.variants.stretch_groups import regroup

FORMS: Final = ("kept", "stretched")
_LONGEST_RATIO: Final = 16
_LARGEST_SHARE: Final = 16
_LONG: Final = 3
"""A note so many times as long as the short ones is stayed on: no staccato dot."""
_FOUR: Final = 4
"""Groups of this size and more are stretched, if nothing else is asked for."""


@dataclass(frozen=True, slots=True)
class Rhythm:
    """How a group shares its time.

    Attributes:
        name: As typed, for messages.
        ratio: Share of each note.
        form: "kept", "stretched", or "" for the one that reads better.
    """

    name: str
    ratio: tuple[int, ...]
    form: str = ""


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
        VariantError: The box has no run of even notes with two groups in it.
    """
    size = len(rhythm.ratio)
    kept = on_the_beat(line, size) if rhythm.form != "stretched" else []
    if kept and (rhythm.form == "kept" or all(_is_plain(run, rhythm.ratio) for run in kept)):
        return _kept(line, kept, rhythm.ratio)
    if rhythm.form != "kept" and from_the_beat(line, size):
        return _stretched(line, rhythm.ratio)
    raise no_run(line, rhythm.name, size, from_beat=rhythm.form == "kept")


def no_run(line: Voice, name: str, size: int, from_beat: bool = False) -> VariantError:
    """Say what a rhythm needs, and what the box has."""
    runs = find_runs(line)
    longest = max((len(run.notes) for run in runs), default=0)
    low, high = box_times(line)
    labels = [bar.label for bar in line.bars if bar.start < high and bar.start + bar.length > low]
    beat = ", from the beat" if from_beat else ""
    reason = f"the longest run has {longest} notes" if longest else "there is no run of equal notes"
    if longest >= 2 * size:
        reason = f"the runs there do not divide in groups of {size} from the beat"
    groups = f", two groups of {size}{beat}" if size > 1 else ""
    return VariantError(
        f"{name} needs a run of at least {2 * size} equal notes{groups}; {bar_list(labels)}: {reason}.",
        where=where(line),
        hint=f"Write {name.removesuffix(':kept')}:stretched, or choose other bars."
        if from_beat and from_the_beat(line, size)
        else "Choose another variant ('separate', 'slow') or other bars.",
    )


def no_notes(line: Voice, name: str, count: int) -> VariantError:
    """Say that no run has as many notes as a bowing needs."""
    longest = max((len(run.notes) for run in find_runs(line)), default=0)
    reason = f"the longest run has {longest}" if longest else "there is no run of equal notes"
    return VariantError(
        f"{name} needs a run of at least {count} equal notes; {box_bars(line)}: {reason}.",
        where=where(line),
        hint="A bowing comes before a rhythm (slur:2+long-short); or choose other bars.",
    )


def _is_plain(run: Grouped, ratio: Sequence[int]) -> bool:
    """Whether the kept form of a small group is one plain or dotted note for each, without tuplets."""
    part = run.run.unit * run.size / sum(ratio)
    single = all(part * share in VALUES for share in ratio)
    plain = part in VALUES and VALUES[part].dots == 0
    return len(ratio) < _FOUR and single and plain


def _kept(line: Voice, runs: list[Grouped], ratio: Sequence[int]) -> Voice:
    events = list(line.events)
    moves: list[tuple[Event, Event]] = []
    varied: set[int] = set()
    for group in (group for run in runs for group in run.groups):
        onset = events[group[0]].onset
        part = (events[group[-1]].end - onset) / sum(ratio)
        for note, share in zip(group, ratio, strict=True):
            new = unprinted(replace(events[note], onset=onset, duration=part * share))
            moves.append((events[note], new))
            events[note] = new
            onset = new.end
            varied.add(note)
    plain, report = without_ornaments(line, tuple(events), varied)
    return replace(
        line,
        events=plain,
        placed=tuple(_moved(line, placed, moves) for placed in line.placed),
        report=line.report + report + as_written(line, varied),
    )


def _moved(line: Voice, placed: TimedElement, moves: Sequence[tuple[Event, Event]]) -> TimedElement:
    """What is placed at a note moves with the note; barlines stay."""
    start = line.bars[placed.bar].start
    time = start + placed.onset
    for old, new in moves:
        if old.onset <= time < old.end and placed.name != "barline":
            moved = new.onset + (time - old.onset) * new.duration / old.duration
            return replace(placed, onset=moved - start) if moved != time else placed
    return placed


def _stretched(line: Voice, ratio: Sequence[int]) -> Voice:
    shortest = min(ratio)
    shares = [Fraction(share, shortest) for share in ratio]
    if any(share.denominator & (share.denominator - 1) for share in shares):
        shares = [Fraction(share) for share in ratio]

    def make(notes: Sequence[Event], following: Event | None, run: Run) -> list[Item]:
        del following
        return [
            Item(held(note) if share >= _LONG else unprinted(note), run.written * share)
            for note, share in zip(notes, shares, strict=True)
        ]

    return regroup(line, lambda source: from_the_beat(source, len(ratio)), make)
