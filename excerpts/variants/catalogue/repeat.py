"""Repeat: each note of a run two, three or four times.

Kept form: each shares its own time, r notes of 1/r. Stretched form: each keeps its value, and takes r times as
long; that is the choice where the kept form would need tuplets or notes shorter than semiquavers. N notes
become N times r.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.time_span import is_binary
from excerpts.variants.clipping import unprinted
from excerpts.variants.groups import Group, even_groups
from excerpts.variants.new_slurs import bow
from excerpts.variants.ratios import BEFORE, FORMS, no_run
from excerpts.variants.rebar import Item
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.reshare import unornamented
from excerpts.variants.runs import Run, find_runs, written
from excerpts.variants.spanning_marks import map_marks
from excerpts.variants.stretch_groups import plain_copy, regroup

_COUNTS: Final = ("2", "3", "4")
_LEAST: Final = 4
"""Notes of a run, at least: of two or three in between nobody would repeat each."""

_SHORTEST: Final = Fraction(1, 4)
"""A semiquaver in quarter notes: nothing shorter is written unless asked for. Common practice, no source."""


def _read(parameter: str) -> tuple[int, str]:
    count, _, form = (piece.strip() for piece in (parameter or "2").partition(":"))
    if count not in _COUNTS or (form and form not in FORMS):
        raise VariantError(
            f"'repeat:{parameter}' makes no sense.",
            hint="Write repeat:2, repeat:3 or repeat:4, with :kept or :stretched after it if you want one form.",
        )
    return int(count), form


def check(parameter: str) -> None:
    """Refuse a parameter that makes no sense.

    Raises:
        VariantError: It is not 2, 3 or 4, or the form is not known.
    """
    _read(parameter)


def repeat(line: Voice, parameter: str) -> Voice:
    """Play each note of a run several times.

    Raises:
        VariantError: There is no run of four equal notes.
    """
    count, form = _read(parameter)
    runs = _all(line)
    if not runs:
        raise no_run(line, f"repeat:{count}", _LEAST, hint=BEFORE)
    line = bow(line, [(note,) for run in runs for note in run.notes], "separate bows", times=count)
    shortest = min(run.unit for run in runs) / count
    plain = is_binary(shortest) and shortest >= _SHORTEST
    if form == "kept" or (not form and plain):
        return _kept(line, runs, count)
    if not _from_beat(line):
        raise no_run(line, f"repeat:{count}", _LEAST, hint=BEFORE)

    def make(notes: Sequence[Event], following: Event | None) -> list[Item]:
        del following
        return [Item(event, written(notes[0])) for event in _copies(notes[0], count)]

    return regroup(line, _from_beat, make, moves=False)


def _kept(line: Voice, runs: Sequence[Run], count: int) -> Voice:
    """Share the time of each note among its copies; the bars stay as they are."""
    varied = {note for run in runs for note in run.notes}
    shared: list[Event] = []
    line = unornamented(line, varied)
    varied = {note for run in _all(line) for note in run.notes}
    for index, event in enumerate(line.events):
        if index not in varied:
            shared.append(event)
            continue
        length = event.duration / count
        for number, copy in enumerate(_copies(event, count)):
            shared.append(replace(copy, onset=event.onset + number * length, duration=length))
    return replace(line, events=tuple(shared))


def _all(line: Voice) -> list[Run]:
    return [run for run in find_runs(line) if len(run.notes) >= _LEAST]


def _from_beat(line: Voice) -> list[Group]:
    return even_groups(line, 1, least=_LEAST)


def _copies(event: Event, count: int) -> list[Event]:
    """A note so many times: what starts stays on the first, what stops goes to the last."""

    def on_first(_: object, mark: Notation) -> Notation | None:
        return None if mark.edge == "stop" else mark

    def on_last(_: object, mark: Notation) -> Notation | None:
        return mark if mark.edge == "stop" or mark.family == "articulations" else None

    event = unprinted(event)
    first, last = map_marks((event,), on_first)[0], map_marks((event,), on_last)[0]
    again, last = map_marks((plain_copy(first), last), lambda _, mark: None if mark.name in _ONCE else mark)
    return [first, *[again] * (count - 2), last]


_ONCE: Final = {"accent", "strong-accent"}
"""What only the first of the notes has: an accent on each would be another exercise. Common practice, no source."""


VARIANT = Variant(
    VariantInfo("repeat", ("coordination", "tone"), parameter="2|3|4[:FORM]", order=75, shown=_COUNTS),
    on_line=repeat,
    check=check,
)
