"""Addresses of places in a part, as a teacher would type them: the way back from `excerpts.score.address`.

Bars are named by their numbers, by their places ("@12") where a number is missing or comes twice, and to the beat
where a box begins or ends inside a bar. Whatever is written is read again before it is given away.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import product
from typing import Final

from excerpts.errors import AddressError
from excerpts.score.address import Resolver, Run, beat_at, beat_in, parse_end
from excerpts.score.bars import BarRange, Bars
from excerpts.score.numbering import shifted

_FINEST: Final = 96
"""Finest part of a beat that an end is looked for with."""
_MOST_DECIMALS: Final = 6


def address_of(bars: Bars, span: BarRange, where: str, pupil_bars: int = 0) -> str:
    """The shortest address that names a span, and nothing but it.

    Args:
        bars: The bars of the part.
        span: From where to where.
        where: Score and part, for messages.
        pupil_bars: How much higher the numbers of the pupil's edition are; the address is in them.

    Raises:
        AddressError: No address names it: it has no length, or begins or ends where no decimal of a beat does.
    """
    resolver = Resolver(bars, where, pupil_bars)
    openings = _openings(bars, span.first, span.start, pupil_bars)
    closings = _closings(bars, span.last, span.end, pupil_bars)
    for start, stop in sorted(product(openings, closings), key=_length):
        text = start if start == stop and ":" not in start else f"{start}-{stop}"
        try:
            if resolver.resolve(text) == span:
                return text
        except AddressError:
            continue  # the next way to say it may be read
    raise AddressError(
        "no address names these beats.", where=where, hint="Begin and end on a beat or a note."
    )


def _length(pair: tuple[str, str]) -> tuple[bool, int]:
    """Two numbers or two places read better than one of each, and whole bars better than beats."""
    start, stop = pair
    return (start[0] == "@") != (stop[0] == "@"), start.count(":") + stop.count(":")


def note_address(bars: Bars, index: int, onset: Fraction, where: str, pupil_bars: int = 0) -> str:
    """The beat at which a note begins, always with its number: "43:1", "@12:2.5".

    Args:
        bars: The bars of the part.
        index: Its measure, from 0.
        onset: Its onset in that measure in quarter notes.
        where: Score and part, for messages.
        pupil_bars: As for `address_of`.

    Raises:
        AddressError: No decimal of a beat names it.
    """
    resolver = Resolver(bars, where, pupil_bars)
    for name, run in _names(bars, index, pupil_bars):
        text = beat_text(bars, run, index, onset)
        if text is None:
            continue
        try:
            span = resolver.resolve(f"{name}:{text}")
        except AddressError:
            continue  # the same place by its place in the file may be read
        if (span.first, span.start) == (index, onset):
            return f"{name}:{text}"
    raise AddressError("no beat names this note.", where=where)


def beat_text(bars: Bars, run: Run, index: int, onset: Fraction) -> str | None:
    """The beat at which a note begins, as it is typed; None where no decimal of a beat names it.

    Args:
        bars: The bars of the part.
        run: Its bar, as first and last measure.
        index: Its measure.
        onset: Its onset in that measure in quarter notes.
    """
    beat = beat_at(bars, run, index, onset)
    return _decimal(beat) if beat is not None else None


def last_beat(bars: Bars, run: Run, index: int, onset: Fraction) -> Fraction | None:
    """The beat that names the end of a box as it is typed: the last one that is in it, or the last part of one.

    None where no decimal of a beat says it. The arguments are those of `beat_text`.
    """
    text = _last_beat(bars, run, index, onset)
    return None if text is None else Fraction(text)


def bar_names(bars: Bars, first: int, last: int, pupil_bars: int) -> tuple[str, str]:
    """Names of two bars: their numbers, or their places where a number is missing or comes twice."""
    labels = [bars.labels[index] for index in (first, last)]
    if all(_is_plain(bars, label) for label in labels):
        return shifted(labels[0], pupil_bars), shifted(labels[1], pupil_bars)
    return f"@{first + 1}", f"@{last + 1}"


def _is_plain(bars: Bars, label: str) -> bool:
    """Whether a number names one bar, and cannot be taken for anything else in an address."""
    if not re.fullmatch(r"\w+", label) or len(bars.runs(label)) != 1:
        return False
    return label.isdecimal() or all(mark.text != label for mark in bars.marks)


def _names(bars: Bars, index: int, pupil_bars: int) -> Iterator[tuple[str, Run]]:
    """The names of the bar of a measure, and the measures that each means."""
    label = bars.labels[index]
    if _is_plain(bars, label):
        yield shifted(label, pupil_bars), bars.run_at(index)
    yield f"@{index + 1}", (index, index)


def _openings(bars: Bars, index: int, onset: Fraction, pupil_bars: int) -> Iterator[str]:
    for name, run in _names(bars, index, pupil_bars):
        if index == run[0] and not onset:
            yield name
        text = beat_text(bars, run, index, onset)
        if text is not None:
            yield f"{name}:{text}"


def _closings(bars: Bars, index: int, onset: Fraction, pupil_bars: int) -> Iterator[str]:
    for name, run in _names(bars, index, pupil_bars):
        if (index, onset) == (run[1], bars.length(index)):
            yield name
        text = _last_beat(bars, run, index, onset)
        if text is not None:
            yield f"{name}:{text}"


def _last_beat(bars: Bars, run: Run, index: int, onset: Fraction) -> str | None:
    """The longest beat, or part of a beat, that ends at a point: 3 and 3.5 both end where 4 begins."""
    stop = beat_at(bars, run, index, onset)
    if stop is None:
        return None
    for part in range(1, _FINEST + 1):
        beat = stop - Fraction(1, part)
        if beat.denominator == part and beat_in(bars, run, beat, closing=True) == (index, onset):
            text = _decimal(beat)
            if text is not None:
                return text
    return None


def _decimal(beat: Fraction) -> str | None:
    """A beat in decimals, as few as will be read again; None where no six of them say it."""
    for places in range(_MOST_DECIMALS + 1):
        text = f"{float(beat):.{places}f}"
        end = parse_end(f"@1:{text}")
        if end is not None and end.beat == beat:
            return text
    return None
