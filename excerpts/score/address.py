"""Addresses of bars as a teacher writes them, resolved to exact places in a part.

12, 12-16        bars as printed             12:3-16:1   from beat to beat, the end beat included
C, C-D, C+2      from rehearsal marks        @1-@4       by place in the file, counted from 1
mark:12          a mark that is a number
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.errors import AddressError
from excerpts.score.bars import Bars

_DASH: Final = re.compile(r"\s*[-\u2013\u2014]\s*")
_END: Final = re.compile(
    r"^(?:(?P<mark>mark:)(?P<marked>[^:+]+)|@(?P<place>\d+)|(?P<name>[^:+@]+))"
    r"(?:\+(?P<plus>\d+))?(?::(?P<beat>\d+(?:\.\d+)?))?$"
)


@dataclass(frozen=True, slots=True)
class Span:
    """A resolved address: measures by index from 0, onsets in quarter notes from the start of their measure.

    Attributes:
        first: Measure that the box begins in.
        start: Onset of its beginning in that measure.
        last: Measure that it ends in (included).
        end: Onset of its end in that measure, up to but not including.
    """

    first: int
    start: Fraction
    last: int
    end: Fraction


@dataclass(frozen=True, slots=True)
class _End:
    """One side of an address, as written."""

    text: str
    place: int | None
    name: str
    is_mark: bool
    plus: int | None
    beat: Fraction | None


class Resolver:
    """Resolves addresses in the bars of one part.

    Args:
        bars: The bars of the part.
        where: Score and part, for messages.
    """

    def __init__(self, bars: Bars, where: str) -> None:
        self._bars = bars
        self._where = where

    def resolve(self, text: str) -> Span:
        """Find the bars that an address names.

        Raises:
            AddressError: The address is not one, names no bar of the part, runs backwards, or could mean
                several places; the message lists what there is.
        """
        if not len(self._bars):
            raise AddressError("the part has no bars.", where=self._where)
        first_text, last_text = self._sides(text)
        first = self._parse(first_text, text)
        if last_text is None:
            run = self._whole(first)
            return self._span(text, run, run, first.beat, first.beat)
        last = self._parse(last_text, text)
        start, stop = self._run(first), self._run(last, closing=True)
        return self._span(text, start, stop, first.beat, last.beat)

    def _sides(self, text: str) -> tuple[str, str | None]:
        """Split at the dash, unless the whole of it is a bar's own label ("12-a")."""
        text = text.strip()
        if not text:
            raise AddressError("the address is empty.", where=self._where, hint="Write bars as 12 or 12-16.")
        if text in self._bars.by_label:
            return text, None
        parts = _DASH.split(text)
        if len(parts) > 2:
            raise self._not_one(text)
        return parts[0], parts[1] if len(parts) == 2 else None

    def _not_one(self, text: str) -> AddressError:
        return AddressError(
            f"'{text}' is not an address.",
            where=self._where,
            hint="Write bars as 12, 12-16, 12:3-16:1 (from beat to beat), C-D (rehearsal marks) or @1-@4.",
        )

    def _parse(self, side: str, whole: str) -> _End:
        match = _END.match(side)
        if match is None:
            raise self._not_one(whole)
        plus, beat = match["plus"], match["beat"]
        return _End(
            text=side,
            place=int(match["place"]) if match["place"] and len(match["place"]) < 10 else None,
            name=(match["marked"] or match["name"] or f"@{match['place']}").strip(),
            is_mark=match["mark"] is not None,
            plus=int(plus) if plus and len(plus) < 10 else None,
            beat=_exact(beat) if beat else None,
        )

    def _run(self, end: _End, *, closing: bool = False) -> tuple[int, int]:
        """The bar (first and last measure) that one side of a range names."""
        if end.place is not None:
            return self._moved(end, self._at_place(end.place))
        mark = self._mark(end)
        if mark is None:
            return self._moved(end, self._labelled(end.name))
        if closing and end.plus is None and end.beat is None:
            if mark == 0:
                raise AddressError(f"there is no bar before mark {end.name}.", where=self._where)
            return self._bars.run_at(mark - 1)
        return self._moved(end, self._bars.run_at(mark))

    def _whole(self, end: _End) -> tuple[int, int]:
        """What an address of one side names: a bar, or from a mark to the bar before the next."""
        mark = None if end.place is not None else self._mark(end)
        if mark is None or end.plus is not None or end.beat is not None:
            return self._run(end)
        after = [other.place - 1 for other in self._bars.marks if other.place - 1 > mark]
        return mark, (after[0] - 1 if after else len(self._bars) - 1)

    def _at_place(self, place: int) -> tuple[int, int]:
        if not 1 <= place <= len(self._bars):
            raise AddressError(
                f"there is no place @{place}.",
                where=self._where,
                hint=f"The part has @1 to @{len(self._bars)}.",
            )
        return place - 1, place - 1

    def _moved(self, end: _End, run: tuple[int, int]) -> tuple[int, int]:
        for _ in range(end.plus or 0):
            if run[1] + 1 >= len(self._bars):
                raise AddressError(
                    f"'{end.text}' goes past the end of the part.",
                    where=self._where,
                    hint=f"It has {self._bars.range_text()}.",
                )
            run = self._bars.run_at(run[1] + 1)
        return run

    def _mark(self, end: _End) -> int | None:
        """Index of the bar of a rehearsal mark; None when the name is a bar number instead."""
        found = sorted({mark.place - 1 for mark in self._bars.marks if mark.text == end.name})
        is_label = end.name in self._bars.by_label and not end.is_mark
        if end.name.isdecimal() and not end.is_mark:
            return None
        if not found:
            if end.is_mark or (not is_label and not any(c.isdecimal() for c in end.name)):
                raise self._no_mark(end.name)
            return None
        if is_label or len(found) > 1:
            places = [f"mark {end.name} at @{index + 1}" for index in found]
            places += (
                [f"bar {end.name} at @{a + 1}" for a, _ in self._bars.runs(end.name)] if is_label else []
            )
            raise self._ambiguous(end.name, places)
        return found[0]

    def _no_mark(self, name: str) -> AddressError:
        texts = list(dict.fromkeys(mark.text for mark in self._bars.marks))
        there = f"It has the marks {', '.join(texts[:40])}" if texts else "It has no rehearsal marks"
        return AddressError(
            f"there is no rehearsal mark or bar '{name}'.",
            where=self._where,
            hint=f"{there} and {self._bars.range_text()}.",
        )

    def _ambiguous(self, name: str, places: list[str]) -> AddressError:
        return AddressError(
            f"'{name}' is in more than one place: {', '.join(places[:20])}.",
            where=self._where,
            hint="Say which by its place in the file, as @12 or @12-@16.",
        )

    def _labelled(self, name: str) -> tuple[int, int]:
        runs = self._bars.runs(name)
        if not runs:
            raise AddressError(
                f"there is no bar {name}.", where=self._where, hint=f"The part has {self._bars.range_text()}."
            )
        if len(runs) > 1:
            raise self._ambiguous(name, [f"bar {name} at @{first + 1}" for first, _ in runs])
        return runs[0]

    def _span(
        self,
        text: str,
        start: tuple[int, int],
        stop: tuple[int, int],
        start_beat: Fraction | None,
        end_beat: Fraction | None,
    ) -> Span:
        if start[0] > stop[1]:
            raise AddressError(
                f"'{text}' runs backwards.", where=self._where, hint="Put the earlier bar first, as 12-16."
            )
        first, opening = (start[0], Fraction(0))
        if start_beat is not None:
            first, opening = self._beat(text, start, start_beat)
        last, closing = (stop[1], self._bars.length(stop[1]))
        if end_beat is not None:
            last, closing = self._beat(text, stop, end_beat, closing=True)
        if start_beat is None and end_beat is None and (first, opening) == (last, closing):
            raise AddressError(
                f"there is no music in '{text}': the bar is empty, and no time signature says how long it is.",
                where=self._where,
                hint="Take in the bars beside it.",
            )
        if (first, opening) >= (last, closing):
            raise AddressError(
                f"'{text}' ends before it begins.", where=self._where, hint="Put the earlier beat first."
            )
        return Span(first, opening, last, closing)

    def _beat(
        self, text: str, run: tuple[int, int], beat: Fraction, *, closing: bool = False
    ) -> tuple[int, Fraction]:
        """Measure and onset of a beat; with `closing`, of the end of that beat (or decimal of a beat)."""
        metre = self._bars.metre(run[0])
        lengths = [self._bars.length(index) for index in range(run[0], run[1] + 1)]
        real = sum(lengths, Fraction(0))
        upbeat = self._missing_before(run, real, metre.length)
        step = Fraction(1, beat.denominator)
        onset = metre.beat_start(beat) - upbeat if beat >= 1 else Fraction(-1)
        stop = metre.beat_start(beat + step) - upbeat if beat >= 1 else Fraction(0)
        if not 0 <= onset < real:
            raise AddressError(
                f"'{text}' asks for beat {_number(beat)} of bar {self._bars.labels[run[0]]}, which has none.",
                where=self._where,
                hint=f"Its metre is {metre.text or 'free'}.",
            )
        at = min(stop, real) if closing else onset
        index = run[0]
        for length in lengths:
            if at < length or index == run[1] or (closing and at == length):
                break
            at -= length
            index += 1
        return index, at

    def _missing_before(self, run: tuple[int, int], real: Fraction, nominal: Fraction) -> Fraction:
        """A pick-up counts back from its barline: what its bar lacks is missing in front."""
        is_upbeat = run[0] == 0 or self._bars.measures[run[0]].get("implicit") == "yes"
        return nominal - real if is_upbeat and real < nominal else Fraction(0)


def _exact(beat: str) -> Fraction:
    """A beat as written; 1.33 and 1.67 mean thirds, 1.17 a sixth, for nobody writes more decimals."""
    written = Fraction(beat)
    near = written.limit_denominator(12)
    return near if abs(near - written) <= Fraction(1, 100) else written


def _number(beat: Fraction) -> str:
    return str(beat.numerator) if beat.denominator == 1 else f"{float(beat):g}"
