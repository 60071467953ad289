"""Which groups the source's beams show in the bars of a metre that leaves them open (5/8, 7/8)."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from excerpts.notes.model import Voice
from excerpts.notes.spell_events import bar_metres

Groups = tuple[Fraction, ...]
"""Lengths in quarter notes that add up to a bar."""


def groups_shown(line: Voice) -> tuple[tuple[int, Groups], ...]:
    """Place in the score and groups of each bar of a line whose beams show them."""
    metres = bar_metres(line)
    if not any(metre.part for metre, _ in metres):
        return ()
    beams: list[list[tuple[Fraction, Fraction]]] = [[] for _ in line.bars]
    for start, end in _beams(line):
        bar = line.bar_at(start)
        shift = metres[bar][1] - line.bars[bar].start
        beams[bar].append((start + shift, end + shift))
    shown = (
        (bar.place, metre.as_beamed(own))
        for bar, (metre, _), own in zip(line.bars, metres, beams, strict=True)
    )
    return tuple((place, groups) for place, groups in shown if groups is not None)


def _beams(line: Voice) -> Iterator[tuple[Fraction, Fraction]]:
    """Where each beam of the line begins, and where its last note ends."""
    begun: Fraction | None = None
    for event in line.events:
        onset = event.onset
        for length, printed in zip(event.segments, event.printed, strict=False):
            role = printed.beams[0].text if printed.beams and not event.grace else ""
            if role == "begin":
                begun = onset
            elif role == "end" and begun is not None:
                yield begun, onset + length
                begun = None
            onset += length
