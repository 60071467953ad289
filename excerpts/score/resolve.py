"""From an address to the bars and beats that it names in a part, or to a message that says what there is."""

from __future__ import annotations

from fractions import Fraction

from excerpts.errors import AddressError
from excerpts.score.address import BarRange, End, parse_end, sides
from excerpts.score.bars import Bars
from excerpts.score.beats import beat_in, beats_of
from excerpts.score.numbering import Numbering

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

    def resolve(self, text: str) -> BarRange:
        """Find the bars that an address names.

        Raises:
            AddressError: The address is not one, names no bar of the part, runs backwards, or could mean
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
        found = self._candidates(end)
        if len(found) > 1:
            name = self._numbers.said(end.name)
            raise self._ambiguous(end.name, [f"bar {name} at @{first + 1}" for first, _ in found])
        return found[0]

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
        found = sorted({mark.place - 1 for mark in self._bars.marks if mark.text == end.name})
        runs = [] if end.is_mark else self._numbers.runs(end.name)
        if not found:
            if end.is_mark or (not runs and not any(char.isdecimal() for char in end.name)):
                raise self._no_mark(end.name)
            return None
        if runs or len(found) > 1:
            places = [f"mark {end.name} at @{index + 1}" for index in found]
            places += [f"bar {self._numbers.said(end.name)} at @{first + 1}" for first, _ in runs]
            raise self._ambiguous(end.name, places)
        return found[0]

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
        found = beat_in(self._bars, run, beat, closing=closing)
        if found is None:
            raise self._error(
                f"'{text}' asks for beat {_number(beat)} of bar {self._numbers.at(run[0])}, which has none.",
                self._has_beats(run),
            )
        return found

    def _has_beats(self, run: Run) -> str:
        """The metre of a bar and its beats, so that the right one is found at once."""
        metre = f"Its metre is {self._bars.metre(run[0]).text or 'free'}"
        beats = beats_of(self._bars, run)
        if beats is None:
            return f"{metre}."
        first, last = beats
        told = f"beat {_number(first)}" if first == last else f"beats {_number(first)} to {_number(last)}"
        if first > 1:
            return f"{metre}, and it is a pick-up, which counts back from its barline: it has {told}."
        return f"{metre}; it has {told}."


def _number(beat: Fraction) -> str:
    return str(beat.numerator) if beat.denominator == 1 else f"{float(beat):.4g}"
