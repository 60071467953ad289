"""Addresses of bars and beats as a teacher writes them, resolved to exact places in a part.

12, 12-16        bars as printed             12:3-16:1   from beat to beat, the end beat included
C, C-D, C+2      from rehearsal marks        @1-@4       by place in the file, counted from 1
mark:12          a mark that is a number

Beats are those that players count, also in pick-ups and in bars that the file splits.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Final

from excerpts.errors import AddressError
from excerpts.score.bars import BarRange, Bars
from excerpts.score.numbering import Numbering

_DASH: Final = re.compile(r"\s*[-\u2013\u2014]\s*")
_END: Final = re.compile(
    r"^(?:(?P<mark>mark:)(?P<marked>[^:+]+)|@(?P<place>[0-9]+)|(?P<name>[^:+@]+))"
    r"(?:\+(?P<plus>[0-9]+))?(?::(?P<beat>[0-9]{1,6}(?:\.[0-9]{1,6})?))?$"
)


@dataclass(frozen=True, slots=True)
class End:
    """One side of an address, as written."""

    text: str
    place: int | None
    name: str
    is_mark: bool
    plus: int | None
    beat: Fraction | None


def sides(text: str) -> list[tuple[str, str]]:
    """The ways to split an address at a dash, for labels and marks may have dashes of their own."""
    ways: list[tuple[str, str]] = []
    for dash in _DASH.finditer(text):
        first, last = text[: dash.start()], text[dash.end() :]
        if first and last:
            ways.append((first, last))
    return ways


def parse_end(side: str) -> End | None:
    """Read one side of an address; None where the text is not one."""
    match = _END.match(side)
    if match is None:
        return None
    plus, beat = match["plus"], match["beat"]
    return End(
        text=side,
        place=int(match["place"]) if match["place"] and len(match["place"]) < 10 else None,
        name=(match["marked"] or match["name"] or f"@{match['place']}").strip(),
        is_mark=match["mark"] is not None,
        plus=int(plus) if plus and len(plus) < 10 else None,
        beat=_exact(beat) if beat else None,
    )


def _exact(beat: str) -> Fraction:
    """A beat as written; 1.33 and 1.67 mean thirds, 1.17 a sixth, for nobody writes more decimals."""
    written = Fraction(beat)
    near = written.limit_denominator(12)
    return near if abs(near - written) <= Fraction(1, 100) else written


def beat_in(
    bars: Bars, run: tuple[int, int], beat: Fraction, *, closing: bool = False
) -> tuple[int, Fraction] | None:
    """Where a beat falls.

    Args:
        bars: The bars of the part.
        run: The bar, as its first and last measure.
        beat: The beat from 1; 1.5 is halfway to the second.
        closing: Ask for the end of the beat (or of the part of a beat that its decimals name) instead.

    Returns:
        Index of the measure and onset in it in quarter notes; None where the bar has no such beat.
    """
    if beat < 1:
        return None
    metre = bars.metre(run[0])
    lengths = [bars.length(index) for index in range(run[0], run[1] + 1)]
    real = sum(lengths, Fraction(0))
    before = _upbeat(bars, run, lengths, metre.length)
    onset = metre.beat_start(beat) + before
    stop = metre.beat_start(beat + Fraction(1, beat.denominator)) + before
    if not 0 <= onset < real:
        return None
    at, index = (min(stop, real) if closing else onset), run[0]
    for length in lengths:
        if at < length or index == run[1] or (closing and at == length):
            break
        at -= length
        index += 1
    return index, at


def beat_at(bars: Bars, run: tuple[int, int], index: int, onset: Fraction) -> Fraction | None:
    """The beat that begins (or goes on) `onset` quarter notes into measure `index`; None before the first."""
    metre = bars.metre(run[0])
    lengths = [bars.length(place) for place in range(run[0], run[1] + 1)]
    since = sum(lengths[: index - run[0]], Fraction(0)) + onset - _upbeat(bars, run, lengths, metre.length)
    if since < 0:
        return None
    number = Fraction(1)
    while metre.beat_start(number + 1) <= since:
        number += 1
    begin = metre.beat_start(number)
    return number + (since - begin) / (metre.beat_start(number + 1) - begin)


def beats_of(bars: Bars, run: tuple[int, int]) -> tuple[Fraction, Fraction] | None:
    """The first beat of a bar and the last that begins in it; in a pick-up the first may be a part of a beat.

    None where the bar has no length, or is longer than any of its metre.
    """
    first = beat_at(bars, run, run[0], Fraction(0))
    after = beat_at(bars, run, run[1], bars.length(run[1]))
    if first is None or after is None or after <= first:
        return None
    return first, max(first, Fraction(ceil(after) - 1))


def _upbeat(bars: Bars, run: tuple[int, int], lengths: list[Fraction], nominal: Fraction) -> Fraction:
    """Quarter notes from the start of the run to its beat 1: less than 0 in a pick-up, which counts back."""
    real = sum(lengths, Fraction(0))
    is_upbeat = run[0] == 0 or bars.measures[run[0]].get("implicit") == "yes"
    if is_upbeat and real < nominal:
        return real - nominal
    if is_upbeat and len(lengths) > 1 and lengths[0] < nominal == real - lengths[0]:
        return lengths[0]
    return Fraction(0)


Run = tuple[int, int]
"""A bar as the teacher counts it: first and last `<measure>`, by index from 0."""

_LISTED = 20
"""Candidates that a message lists."""


class Resolver:
    """Resolves addresses in the bars of one part.

    Args:
        bars: The bars of the part.
        where: Score and part, for messages.
        pupil_bars: How much higher the numbers of the pupil's edition are than those of the file; addresses
            are in the pupil's numbers.
    """

    def __init__(self, bars: Bars, where: str, pupil_bars: int = 0) -> None:
        self._bars = bars
        self._where = where
        self._numbers = Numbering(bars, pupil_bars)

    @property
    def bars(self) -> Bars:
        """The bars in which addresses are looked for."""
        return self._bars

    def resolve(self, text: str) -> BarRange:
        """Find the bars that an address names.

        Raises:
            AddressError: The text is no address, names no bar of the part, runs backwards, or could mean
                several places; the message lists what there is.
        """
        text = text.strip()
        if not len(self._bars):
            raise self._error("the part has no bars.")
        if not text:
            raise self._error("the address is empty.", "Write bars as 12 or 12-16.")
        ends = self._ends(text)
        if len(ends) == 1:
            run = self._whole(ends[0])
            return self._span(text, run, run, ends[0].beat, ends[0].beat)
        start, stop = self._pair(text, ends[0], ends[1])
        return self._span(text, start, stop, ends[0].beat, ends[1].beat)

    def _error(self, what: str, hint: str = "") -> AddressError:
        return AddressError(what, where=self._where, hint=hint)

    def _ends(self, text: str) -> tuple[End, ...]:
        """One side or two; the whole of it may be a bar's own label or a mark ("12-a")."""
        whole = parse_end(text)
        if whole is not None and (self._is_known(whole) or not sides(text)):
            return (whole,)
        ways = [(first, last) for a, b in sides(text) if (first := parse_end(a)) and (last := parse_end(b))]
        known = [way for way in ways if all(self._is_known(end) for end in way)]
        if len(known) == 1:
            return known[0]
        if len(ways) != 1 or len(sides(text)) != 1:
            raise self._error(
                f"'{text}' is not an address.",
                "Write bars as 12, 12-16, 12:3-16:1 (from beat to beat), C-D (rehearsal marks) or @1-@4.",
            )
        return ways[0]

    def _is_known(self, end: End) -> bool:
        if end.place is not None:
            return True
        return bool(self._numbers.runs(end.name)) or any(mark.text == end.name for mark in self._bars.marks)

    def _pair(self, text: str, first: End, last: End) -> tuple[Run, Run]:
        """The bars of both sides; a number that comes twice is settled where only one pair runs forward."""
        starts, stops = self._candidates(first), self._candidates(last, closing=True)
        pairs = [(a, b) for a in starts for b in stops if a[0] <= b[1]]
        if len(pairs) == 1 or (len(starts) == 1 and len(stops) == 1):
            return starts[0] if len(starts) == 1 else pairs[0][0], stops[0] if len(stops) == 1 else pairs[0][
                1
            ]
        if not pairs:
            return starts[0], stops[-1]
        near = [
            (a, b)
            for a, b in pairs
            if not any(a < other <= b for other in starts if len(starts) > 1 and len(stops) > 1)
            and not any(a[0] <= other[1] < b[1] for other in stops if len(starts) > 1)
        ]
        raise self._ambiguous(text, [f"@{a[0] + 1}-@{b[1] + 1}" for a, b in near or pairs])

    def _whole(self, end: End) -> Run:
        """What an address of one side names: a bar, or from a mark to the bar before the next."""
        mark = None if end.place is not None else self._mark(end)
        if mark is None or end.plus is not None or end.beat is not None:
            return self._only(end)
        after = [other.place - 1 for other in self._bars.marks if other.place - 1 > mark]
        return mark, (after[0] - 1 if after else len(self._bars) - 1)

    def _only(self, end: End) -> Run:
        candidates = self._candidates(end)
        if len(candidates) > 1:
            name = self._numbers.said(end.name)
            raise self._ambiguous(end.name, [f"bar {name} (@{first + 1})" for first, _ in candidates])
        return candidates[0]

    def _candidates(self, end: End, *, closing: bool = False) -> list[Run]:
        """The bars that one side of an address may name: at least one."""
        if end.place is not None:
            return [self._moved(end, self._at_place(end.place))]
        mark = self._mark(end)
        if mark is None:
            return [self._moved(end, run) for run in self._labelled(end.name)]
        if closing and end.plus is None and end.beat is None:
            if mark == 0:
                raise self._error(f"there is no bar before mark {end.name}.")
            return [self._bars.run_at(mark - 1)]
        return [self._moved(end, self._bars.run_at(mark))]

    def _at_place(self, place: int) -> Run:
        if not 1 <= place <= len(self._bars):
            raise self._error(f"there is no place @{place}.", f"The part has @1 to @{len(self._bars)}.")
        return place - 1, place - 1

    def _moved(self, end: End, run: Run) -> Run:
        for _ in range(end.plus or 0):
            if run[1] + 1 >= len(self._bars):
                raise self._error(f"'{end.text}' goes past the end of the part.", self._has())
            run = self._bars.run_at(run[1] + 1)
        return run

    def _has(self) -> str:
        return f"The part has {self._numbers.range_text()}."

    def _mark(self, end: End) -> int | None:
        """Index of the bar of a rehearsal mark; None when the name is a bar number instead."""
        if end.name.isdecimal() and not end.is_mark:
            return None
        marked = sorted({mark.place - 1 for mark in self._bars.marks if mark.text == end.name})
        runs = [] if end.is_mark else self._numbers.runs(end.name)
        if not marked:
            if end.is_mark or (not runs and not any(char.isdecimal() for char in end.name)):
                raise self._no_mark(end.name)
            return None
        if runs or len(marked) > 1:
            places = [f"mark {end.name} (@{index + 1})" for index in marked]
            places += [f"bar {self._numbers.said(end.name)} (@{first + 1})" for first, _ in runs]
            raise self._ambiguous(end.name, places)
        return marked[0]

    def _no_mark(self, name: str) -> AddressError:
        texts = list(dict.fromkeys(mark.text for mark in self._bars.marks))
        there = f"It has the marks {', '.join(texts[:40])}" if texts else "It has no rehearsal marks"
        return self._error(
            f"there is no rehearsal mark or bar '{name}'.", f"{there} and {self._numbers.range_text()}."
        )

    def _ambiguous(self, name: str, places: list[str]) -> AddressError:
        return self._error(
            f"'{name}' is in more than one place: {', '.join(places[:_LISTED])}.",
            "Say which one by its place in the file, like @12 or @12-@16.",
        )

    def _labelled(self, name: str) -> list[Run]:
        runs = self._numbers.runs(name)
        if not runs:
            raise self._error(f"there is no bar {self._numbers.said(name)}.", self._has())
        return runs

    def _span(
        self, text: str, start: Run, stop: Run, start_beat: Fraction | None, end_beat: Fraction | None
    ) -> BarRange:
        if start[0] > stop[1]:
            raise self._error(f"'{text}' runs backwards.", "Put the earlier bar first, as 12-16.")
        first, opening = start[0], Fraction(0)
        if start_beat is not None:
            first, opening = self._beat(text, start, start_beat)
        last, closing = stop[1], self._bars.length(stop[1])
        if end_beat is not None:
            last, closing = self._beat(text, stop, end_beat, closing=True)
        if start_beat is None and end_beat is None and (first, opening) == (last, closing):
            raise self._error(
                f"there is no music in '{text}': the bar is empty, and no time signature says how long it is.",
                "Include the bars beside it.",
            )
        if (first, opening) >= (last, closing):
            raise self._error(f"'{text}' ends before it begins.", "Put the earlier beat first.")
        return BarRange(first, opening, last, closing)

    def _beat(self, text: str, run: Run, beat: Fraction, *, closing: bool = False) -> tuple[int, Fraction]:
        place = beat_in(self._bars, run, beat, closing=closing)
        if place is None:
            raise self._error(
                f"'{text}' asks for beat {_number(beat)} of bar {self._numbers.at(run[0])}, which has none.",
                self._has_beats(run),
            )
        return place

    def _has_beats(self, run: Run) -> str:
        """The metre of a bar and its beats, so that the right one is found at once."""
        metre = f"Its metre is {self._bars.metre(run[0]).text or 'free'}"
        beats = beats_of(self._bars, run)
        if beats is None:
            return f"{metre}."
        first, last = beats
        named = f"beat {_number(first)}" if first == last else f"beats {_number(first)} to {_number(last)}"
        if first > 1:
            return f"{metre}, and it is a pick-up, which counts back from its barline: it has {named}."
        return f"{metre}; it has {named}."


def _number(beat: Fraction) -> str:
    return str(beat.numerator) if beat.denominator == 1 else f"{float(beat):.4g}"
