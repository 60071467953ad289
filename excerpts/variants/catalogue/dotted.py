"""Pairs of a long and a short note in other shares: evened out, sharpened, swapped. Their time stays.

A dotted figure that drags is played even, then over-dotted, then the other way round; teachers' common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import partial

from excerpts.errors import VariantError
from excerpts.notes import Voice
from excerpts.notes.spelling import VALUES
from excerpts.variants.clipping import unprinted
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.pairs import as_written, box_bars, moved
from excerpts.variants.passage import where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.runs import uneven_pairs

Share = Callable[[Fraction, Fraction], Fraction]
"""The new length of the first note, from the two lengths."""


def _even(first: Fraction, second: Fraction) -> Fraction:
    return (first + second) / 2


def _sharp(first: Fraction, second: Fraction) -> Fraction:
    """The short note half as long as it was."""
    return first + second / 2 if first > second else first / 2


def _swapped(first: Fraction, second: Fraction) -> Fraction:
    del first
    return second


def reshare(line: Voice, parameter: str, name: str, share: Share) -> Voice:
    """Share the time of each pair anew.

    Raises:
        VariantError: There is no pair of a long and a short note, or its new lengths are no notes.
    """
    del parameter
    events = list(line.events)
    moves: list[tuple[Fraction, Fraction, Fraction]] = []
    varied: set[int] = set()
    for first, second in uneven_pairs(line):
        one, other = line.events[first], line.events[second]
        new = share(one.duration, other.duration)
        left = one.duration + other.duration - new
        if new not in VALUES or left not in VALUES:
            continue
        middle = one.onset + new
        events[first] = unprinted(replace(one, duration=new))
        events[second] = unprinted(replace(other, onset=middle, duration=left))
        moves.append((one.onset, middle, other.end))
        varied |= {first, second}
    if not varied:
        raise VariantError(
            f"{name} needs pairs of a long and a short note that fill a beat; {box_bars(line)}: there are none.",
            where=where(line),
            hint="Even notes get a rhythm by 'long-short'; or choose other bars.",
        )
    plain, report = without_ornaments(line, tuple(events), varied)
    placed = tuple(moved(line, one, moves) for one in line.placed)
    return replace(line, events=plain, placed=placed, report=line.report + report + as_written(line, varied))


def _variant(name: str, share: Share, order: int) -> Variant:
    return Variant(
        VariantInfo(name, ("rhythm",), order=order, kind="rhythm"),
        on_line=partial(reshare, name=name, share=share),
    )


VARIANTS = (
    _variant("evened", _even, 61),
    _variant("sharpened", _sharp, 62),
    _variant("swapped", _swapped, 63),
)
