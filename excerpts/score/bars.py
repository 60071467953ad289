"""The bars of a part as a teacher counts them: labels, places, real lengths, rehearsal marks."""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, partial
from itertools import chain
from typing import Final, TypeVar, cast

from lxml import etree

from excerpts.musicxml.format import number_in
from excerpts.musicxml.metre import Metre, metre_of
from excerpts.musicxml.timeline import BarTime, walk
from excerpts.score.attributes import State, attributes_of, changes_in, lead_on, take_changes
from excerpts.score.bar_faults import Repair, has_faults, mend_attributes, mend_measure
from excerpts.score.bar_repeats import has_repeats, write_out_repeats
from excerpts.score.limits import shortened

_Made = TypeVar("_Made")

_SPARSE: Final = (
    "slur", "tuplet", "glissando", "slide", "wavy-line", "hammer-on", "pull-off", "tremolo", "extend",
    "wedge", "octave-shift", "pedal", "dashes", "bracket", "principal-voice",
    "sound", "metronome", "words", "dynamics", "string-mute", "string", "ending", "bar-style",
)  # fmt: skip
"""Elements that are looked for in the whole of a part, whatever is cut: one walk finds them all."""

_REMEMBERED: Final = 64
"""Bars after which the state of a part is kept, so that it need not be led on from the start again.

It is kept also behind bars that had to be timed for it.
"""

_LONGEST_LABEL: Final = 60
"""Characters of a bar's number or a rehearsal mark; they are to be typed as addresses."""


@dataclass(frozen=True, slots=True)
class BarInfo:
    """One `<measure>` of a part.

    Attributes:
        place: Place in the file, counted from 1.
        label: Its number as printed in the source; "" where it has none.
        length: Real length in quarter notes.
        implicit: The source prints no number for it.
    """

    place: int
    label: str
    length: Fraction
    implicit: bool


@dataclass(frozen=True, slots=True)
class BarRange:
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
class RehearsalMark:
    """A rehearsal mark: its text and the place of its bar, counted from 1."""

    text: str
    place: int


class Rehearsals:
    """The rehearsal marks of a score (its `<part>` elements): one in any part, most often the top one, is for all."""

    def __init__(self, parts: Sequence[etree._Element]) -> None:
        self._parts = parts

    @cached_property
    def marks(self) -> tuple[RehearsalMark, ...]:
        """All of them in order, each once."""
        marked: set[tuple[int, str]] = set()
        for part in self._parts:
            bars = enumerate(part.iterchildren("measure"), start=1)
            place, at = 0, None
            for rehearsal in part.iter("rehearsal"):
                measure = _measure_around(rehearsal, "direction-type", "direction")
                if measure is None or measure.getparent() is not part:
                    continue
                if measure is not at:
                    place, at = next(bar for bar in bars if bar[1] is measure)
                text = shortened(" ".join((rehearsal.text or "").split()), _LONGEST_LABEL)
                marked |= {(place, text)} if text else set()
        return tuple(RehearsalMark(text, place) for place, text in sorted(marked))


def _measure_around(element: etree._Element, *names: str) -> etree._Element | None:
    """The `<measure>` around an element, where these elements and no others stand between."""
    above = element.getparent()
    for name in names:
        if above is None or above.tag != name:
            return None
        above = above.getparent()
    return above if above is not None and above.tag == "measure" else None


class Bars:
    """The bars of one part, worked out when they are asked for.

    Args:
        part: The `<part>` element; it is not changed. What is wrong in it and has one reading is mended in a copy,
            which is made when there is something to mend.
        marks: The rehearsal marks of the score, which are for all its parts; those of the part where it is alone.
        attributes: The `<attributes>` of the part where they are known already.

    Attributes:
        part: The `<part>` element, or the copy of it in which something was mended.
        measures: Its `<measure>` elements.
        repairs: What was mended so far.
        version: How often its elements were changed or replaced. Code that remembers elements compares it, to know
            whether they are still those of the part.
    """

    def __init__(
        self,
        part: etree._Element,
        marks: Rehearsals | None = None,
        attributes: Sequence[etree._Element] | None = None,
    ) -> None:
        self.part = part
        self.measures: list[etree._Element] = part.findall("measure")
        self.repairs: list[Repair] = []
        self.version = 0
        self._rehearsals = marks or Rehearsals([part])
        self._is_copy = False
        self._mended: set[int] = set()
        self._timed_after = -1
        self._states: dict[int, State] = {0: State()}
        self._known: list[int] = [0]
        self._made: dict[Callable[[Bars], object], tuple[int, object]] = {}
        attributes = attributes_of(part) if attributes is None else attributes
        self._made[_changing] = 0, {one.getparent() for one in attributes}
        repeats = has_repeats(attributes)
        if repeats or has_faults(part, attributes):
            self._change_copy()
            self.repairs += mend_attributes(self.part, self.measures)
            self.repairs += write_out_repeats(self.measures) if repeats else []

    def __len__(self) -> int:
        return len(self.measures)

    def once(self, make: Callable[[Bars], _Made]) -> _Made:
        """The result of a function of the bars: computed once, and again after elements were changed."""
        known = self._made.get(make)
        if known is None or known[0] != self.version:
            known = self._made[make] = (self.version, make(self))
        return cast(_Made, known[1])

    def every(
        self, *tags: str, first: int = 0, last: int | None = None
    ) -> Iterator[tuple[int, etree._Element, etree._Element]]:
        """All elements of some names (of `_SPARSE`) in measures `first` to `last`, in the order of the file.

        Yields:
            The index of the measure, the child of the measure that the element is or stands in, the element.
        """
        last = len(self) if last is None else last
        table = self.once(sparse)
        for _, index, element in sorted(chain.from_iterable(table[tag] for tag in tags)):
            if first <= index <= last:
                measure, holder, above = self.measures[index], element, element.getparent()
                while above is not None and above is not measure:
                    holder, above = above, above.getparent()
                if above is not None:
                    yield index, holder, element

    def has(self, tag: str) -> bool:
        """Whether any element of a name is in the part."""
        return next(self.part.iter(tag), None) is not None

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Bar numbers as printed, one for each `<measure>`: its `text` where it has one, else its `number`."""
        return tuple(
            shortened(
                (measure.get("text") or "").strip() or (measure.get("number") or "").strip(), _LONGEST_LABEL
            )
            for measure in self.measures
        )

    @cached_property
    def by_label(self) -> dict[str, list[int]]:
        """Indexes (from 0) of the measures with each label, in order."""
        table: dict[str, list[int]] = {}
        for index, label in enumerate(self.labels):
            table.setdefault(label, []).append(index)
        return table

    def runs(self, label: str) -> list[tuple[int, int]]:
        """Bars with `label`, as (first, last) indexes; adjacent measures of one number are one bar.

        A number inside a rest of several bars that the file holds as a single measure means that measure.
        """
        runs: list[tuple[int, int]] = []
        for index in self.by_label.get(label, []) or self._condensed(label):
            if runs and runs[-1][1] == index - 1:
                runs[-1] = (runs[-1][0], index)
            else:
                runs.append((index, index))
        return runs

    def _condensed(self, label: str) -> list[int]:
        if not (label.isdecimal() and len(label) < 7):
            return []
        holding: list[int] = []
        for index, measure in enumerate(self.measures[:-1]):
            count = number_in(measure.findtext("attributes/measure-style/multiple-rest"))
            own, following = self.labels[index], self.labels[index + 1]
            if count is None or not (
                own.isdecimal() and following.isdecimal() and max(len(own), len(following)) < 7
            ):
                continue
            if int(following) == int(own) + count and int(own) < int(label) < int(following):
                holding.append(index)
        return holding

    def run_at(self, index: int) -> tuple[int, int]:
        """The bar that measure `index` belongs to, as (first, last) indexes."""
        first = last = index
        label = self.labels[index]
        while label and first > 0 and self.labels[first - 1] == label:
            first -= 1
        while label and last + 1 < len(self) and self.labels[last + 1] == label:
            last += 1
        return first, last

    @cached_property
    def marks(self) -> tuple[RehearsalMark, ...]:
        """Rehearsal marks of the score in order; one that stands in several places of a bar counts once."""
        return tuple(mark for mark in self._rehearsals.marks if mark.place <= len(self))

    @cached_property
    def lengths(self) -> tuple[Fraction, ...]:
        """Real lengths in quarter notes; a bar with nothing in it is as long as its metre says."""
        lengths: list[Fraction] = []
        state = State()
        for index, measure in enumerate(self.measures):
            divisions = state.divisions
            take_changes(state, list(measure.iterchildren("attributes")), measure)
            time = walk(measure, divisions)
            if time.faults and self.mend(index, index):
                time = walk(self.measures[index], divisions)
            state.divisions = time.divisions
            lengths.append(time.length or metre_of(state.time).length)
        self._timed_after = self.version
        return tuple(lengths)

    def state(self, index: int) -> State:
        """What is in force before measure `index` (from 0), before that bar says anything itself."""
        known = self._known[bisect_right(self._known, index) - 1]
        state = self._states[known].copy()
        changing = self.once(_changing)
        for place in range(known + 1, index + 1):
            measure = self.measures[place - 1]
            timed = measure in changing and lead_on(state, measure)
            if timed or place == index or place % _REMEMBERED == 0:
                self._states[place] = state.copy()
                insort(self._known, place)
        return state

    def metre(self, index: int) -> Metre:
        """The metre of measure `index` (from 0), counting what the bar itself sets at its start."""
        state = self.state(index)
        for moment in changes_in(self.measures[index], state.divisions):
            if moment.onset == 0:
                state.take(moment.element)
        return metre_of(state.time)

    def time(self, index: int) -> BarTime:
        """Measure `index` (from 0) in time."""
        return walk(self.measures[index], self.state(index).divisions)

    def length(self, index: int) -> Fraction:
        """Real length of measure `index` (from 0) in quarter notes, timing only that bar unless all were timed."""
        if not self.mend(index, index) and self._timed_after == self.version:
            return self.lengths[index]
        return self.time(index).length or self.metre(index).length

    def mend(self, first: int, last: int) -> bool:
        """Mend what can mean only one thing in measures `first` to `last` (from 0); True if anything was mended.

        Only the bars that are asked for are looked at: to look at all of a long part takes as long as
        reading it.
        """
        before = len(self.repairs)
        for index in range(first, last + 1):
            if index not in self._mended:
                self._mended.add(index)
                self._mend(index)
        return len(self.repairs) > before

    def _mend(self, index: int) -> None:
        """Mend one bar: a copy of it where the part is not a copy yet, which takes its place only if it is mended."""
        measure = self.measures[index]
        mended = measure if self._is_copy else deepcopy(measure)
        count = len(measure)
        done = mend_measure(mended, index, partial(self._context, index))
        # A move of no length goes without a word.
        if done or len(mended) != count:
            self._change_copy()
            if mended is not measure:
                self.part.replace(self.measures[index], mended)
                self.measures[index] = mended
        self.repairs += done

    def _change_copy(self) -> None:
        """Work in a copy of the part from here on, for its elements change; forget what was known of the old ones."""
        self.version += 1
        if not self._is_copy:
            self.part = deepcopy(self.part)
            self.measures = self.part.findall("measure")
            self._is_copy = True
            self._states, self._known = {0: State()}, [0]

    def _context(self, index: int) -> tuple[Fraction, Metre]:
        return self.state(index).divisions, self.metre(index)

    def info(self) -> tuple[BarInfo, ...]:
        """All bars."""
        return tuple(
            BarInfo(i + 1, self.labels[i], self.lengths[i], measure.get("implicit") == "yes")
            for i, measure in enumerate(self.measures)
        )


Sparse = list[tuple[int, int, etree._Element]]
"""Elements in the order of the file: place among all that are looked for, index of the measure, element."""


def sparse(bars: Bars) -> dict[str, Sparse]:
    """The elements of `_SPARSE` by their names."""
    table: dict[str, Sparse] = {tag: [] for tag in _SPARSE}
    coming = iter(bars.measures)
    following, index = next(coming, None), -1
    for place, element in enumerate(bars.part.iter("measure", *_SPARSE)):
        if element is following:
            following, index = next(coming, None), index + 1
        elif index >= 0 and element.tag in table:
            table[element.tag].append((place, index, element))
    return table


def _changing(bars: Bars) -> set[etree._Element | None]:
    """The measures that change attributes."""
    return {attributes.getparent() for attributes in attributes_of(bars.part)}
