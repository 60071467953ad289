"""Figures of long and short notes in other shares: evened out, sharpened, swapped. Their time stays.

A figure is what fills a beat, or the beats that one of its notes goes over: dotted, quaver and two semiquavers,
siciliano, syncopation. One that drags is played even, then over-dotted, then the other way round; teachers' common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.notes.spelling import VALUES
from excerpts.variants.groups import figures, is_uneven
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.reshare import Shared, reshare

_TRIPLET: Final = 3

Lengths = list[Fraction]
Share = Callable[[Lengths], Lengths]
"""The new lengths of the notes of a figure, from the old ones."""


def _even(old: Lengths) -> Lengths:
    return [sum(old, Fraction(0)) / len(old)] * len(old)


_MOST_SHORT: Final = 2
"""Short notes to a long one where it can be held longer: a run of more has no dot to be late after."""


def _sharp(old: Lengths) -> Lengths:
    """The shortest notes half as long; each leaves the rest to the nearest long one, of two to the longer."""
    if old.count(min(old)) > _MOST_SHORT * (len(old) - old.count(min(old))):
        return old
    new = list(old)
    side = 1 if old[0] == min(old) else -1  # of two that are equal, as the figure begins
    long = [place for place, length in enumerate(old) if length > min(old)]
    for place in set(range(len(old))) - set(long):
        to = min(long, key=lambda other: (abs(other - place), -old[other], (place - other) * side))
        new[place] -= min(old) / 2
        new[to] += min(old) / 2
    return new


def _swapped(old: Lengths) -> Lengths:
    return old[::-1]


def _can_be_read(old: Lengths, new: Lengths) -> bool:
    """Whether all new lengths are plain or dotted notes; of equal ones plain notes, or a triplet of a beat."""
    if len(set(new)) > 1:
        return all(length in VALUES for length in new)
    time = sum(old, Fraction(0))
    triplet = len(new) == _TRIPLET and time <= 1 and time in VALUES
    value = VALUES.get(time if triplet else new[0])
    return value is not None and not value.dots


def in_other_shares(line: Voice, parameter: str, name: str, share: Share) -> Voice:
    """Share the time of each figure anew.

    Raises:
        VariantError: There is no figure of long and short notes that fills a beat, or its new lengths are no notes.
    """
    del parameter
    shared: list[Shared] = []
    for notes, _ in figures(line):
        old = [line.events[note].duration for note in notes]
        new = share(old) if is_uneven(old) else old
        if new != old and _can_be_read(old, new):
            shared.append((notes, new))
    if not shared:
        raise VariantError(
            f"{name} needs figures of long and short notes that fill a beat; {box_bars(line)}: there are none.",
            where=where(line),
            hint="Even notes get a rhythm by 'long-short'; or choose other bars.",
        )
    return reshare(line, shared)


def _variant(name: str, share: Share, order: int) -> Variant:
    return Variant(
        VariantInfo(name, ("rhythm",), order=order, kind="rhythm"),
        on_line=partial(in_other_shares, name=name, share=share),
    )


VARIANTS = (
    _variant("evened", _even, 61),
    _variant("sharpened", _sharp, 62),
    _variant("swapped", _swapped, 63),
)
