"""Rhythms that make groups longer: the short notes keep their value, and the bars are made anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, groupby, pairwise
from typing import Final

from excerpts.errors import VariantError
from excerpts.musicxml.elements import Time
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import odd_part
from excerpts.variants.groups import Group, place_of
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, silence, source_time, time_signature
from excerpts.variants.reshare import unornamented
from excerpts.variants.runs import written
from excerpts.variants.same_speed import same_speed
from excerpts.variants.spanning_marks import map_marks, slurs

LONGEST_BAR: Final = Fraction(6)
"""The longest bar of dotted beats in quarter notes: 12/8."""
LONGEST_PLAIN: Final = Fraction(4)
"""The longest bar of plain beats in quarter notes: 4/4; one beat that is left over stands with it, in 5/4."""

_MOST: Final = 4
"""The most dotted beats in a bar."""

_CROTCHETS: Final = 4
_QUAVERS: Final = 8

_ONE_BEAT: Final = (1, _CROTCHETS)
_ROUNDED: Final = Fraction(3, 2)
"""A bar of one crotchet, as beats and lower figure; and the length in quarter notes that a rest brings it to."""

Make = Callable[[Sequence[Event], Event | None], list[Item]]
"""Makes the new notes of a group from its notes and the note that follows them."""


@dataclass(slots=True)
class _Sheet:
    """What has been written so far.

    Attributes:
        line: The source.
        items: Notes and rests.
        bars: The new bars.
        part: The bar of the source, by its index, of which the last new bar holds a part as written; else None.
    """

    line: Voice
    items: list[Item]
    bars: list[NewBar]
    part: int | None = None

    def copy(self, start: Fraction, end: Fraction) -> None:
        """Copy what stands between two times, in bars that end where those of the source end."""
        if start == end:
            return
        metres = bar_metres(self.line)
        for place, bar in enumerate(self.line.bars):
            first = max(start, bar.start)
            length = min(end, bar.end) - first
            self.items += self._copied(first, first + length)
            if length == bar.length:
                self.bars.append(NewBar(length, source_time(self.line, place)))
                self.part = None
            elif length > 0:
                shown = length >= 1  # nobody counts what is shorter than a beat
                here = place_of(self.line, metres, first)
                time = signature_of(length, here.metre.ternary[here.beat], shown)
                before = self.bars[-1] if self.bars and first > bar.start else None
                self._join(before, NewBar(length, time))
                self.part = place

    def _copied(self, start: Fraction, end: Fraction) -> list[Item]:
        low, high = box_times(self.line)
        return [
            Item(event, event.duration, event.onset >= high or (event.duration > 0 and event.end <= low))
            for event in self.line.events
            if _stands_between(event, start, end)
        ]

    def groups(self, block: Sequence[Group], make: Make) -> None:
        """Write groups that follow each other in a bar of the source: in one bar, or in several."""
        events = self.line.events
        made = [
            make([events[note] for note in group.notes], _next(events, group.notes[-1])) for group in block
        ]
        lengths = [sum((item.length for item in items), Fraction(0)) for items in made]
        for length, alike in groupby(zip(block, made, lengths, strict=True), key=lambda one: one[2]):
            groups, items, _ = zip(*alike, strict=True)
            here = place_of(self.line, bar_metres(self.line), groups[0].start)
            dotted = here.length if here.metre.ternary[here.beat] else None
            same = self.part == self.line.bar_at(groups[0].start)
            for count in _counts(self.line, groups, length):
                for bar in self._bars(items[0], length, count, dotted):
                    self._join(self.bars[-1] if same else None, bar)
                    same, self.part = False, None
            self.items += [item for group in items for item in group]

    def _join(self, before: NewBar | None, bar: NewBar) -> None:
        """Add a bar; to the one before, of the same bar of the source, if both have the same beats and it is short."""
        if before is not None and self._rounds_out(before, bar):
            before, bar = self._rounded(before, bar)
            self.bars[-1] = before
        beats = [_figures(one) for one in (before, bar) if one is not None]
        length = sum((one.length for one in (before, bar) if one is not None), Fraction(0))
        dotted = all(figure == _QUAVERS and not count % 3 for count, figure in beats)
        plain = all(figure == _CROTCHETS for _, figure in beats)
        alone = before is not None and min(bar.length, before.length) == 1
        most = LONGEST_PLAIN + 1 if alone else LONGEST_PLAIN
        if before is not None and ((plain and length <= most) or (dotted and length <= LONGEST_BAR)):
            self.bars[-1] = NewBar(length, signature_of(length, dotted))
        else:
            self.bars.append(bar)

    def _rounds_out(self, before: NewBar, bar: NewBar) -> bool:
        """Whether the last note so far is all of one of two bars, a plain beat, and the other has dotted beats."""
        plain, dotted = (before, bar) if _figures(before) == _ONE_BEAT else (bar, before)
        count, figure = _figures(dotted)
        last = self.items[-1]
        events, onset = self.line.events, last.event.onset
        slurred = any(events[one.start].onset <= onset < events[one.stop].onset for one in slurs(events))
        alone = last.length == 1 and not (last.event.is_rest or last.outside or slurred)
        return _figures(plain) == _ONE_BEAT and figure >= _QUAVERS and not count % 3 and alone

    def _rounded(self, before: NewBar, bar: NewBar) -> tuple[NewBar, NewBar]:
        """The two with a rest after that note, so that it fills dotted beats too: no bar of one beat stands alone."""
        self.items.append(silence(_ROUNDED - 1, self.items[-1].event))
        full = NewBar(_ROUNDED, signature_of(_ROUNDED, ternary=True))
        return (full, bar) if _figures(before) == _ONE_BEAT else (before, full)

    def _bars(
        self, items: Sequence[Item], length: Fraction, count: int, dotted: Fraction | None
    ) -> list[NewBar]:
        """The bar of some groups, or several bars of a long group if no note goes over their barlines."""
        starts = {Fraction(0), *accumulate(item.length for item in items)}
        if length <= (LONGEST_BAR if dotted else LONGEST_PLAIN):
            return [NewBar(length * count, _group_time(length, count, dotted))]
        for beats in (4, 3):
            if not length % beats and starts.issuperset(range(0, int(length), beats)):
                return [NewBar(Fraction(beats), time_signature(beats, 4))] * int(length / beats)
        if length <= LONGEST_BAR:
            return [NewBar(length * count, _group_time(length, count, dotted))]
        raise VariantError(
            f"a group of {len(items)} notes would be longer than a bar in {box_bars(self.line)}: "
            f"{float(length):g} crotchets.",
            where=where(self.line),
            hint="Choose smaller groups, or bars with shorter notes.",
        )


def regroup(line: Voice, find: Callable[[Voice], list[Group]], make: Make, moves: bool = True) -> Voice:
    """The line with its groups in bars of their own, and everything else as written.

    Args:
        line: The line of a box.
        find: Finds the groups; there must be one.
        make: Makes the notes of one group.
        moves: Each note stands once, so that directions can move with it.

    Raises:
        VariantError: A group would be longer than a bar.
    """
    varied = {note for group in find(line) for note in group.notes}
    line = unornamented(line, varied)
    blocks = _blocks(line, find(line))
    sheet = _Sheet(line, [], [])
    time = _first_time(line, blocks[0][0])
    for block in blocks:
        sheet.copy(time, line.events[block[0].notes[0]].onset)
        sheet.groups(block, make)
        time = line.events[block[-1].notes[-1]].end
    sheet.copy(time, line.bars[-1].end)
    unit = min(written(line.events[note]) for block in blocks for group in block for note in group.notes)
    return same_speed(line, rebar(line, sheet.items, sheet.bars, moves), unit)


def _blocks(line: Voice, groups: Sequence[Group]) -> list[list[Group]]:
    """Groups that follow each other in a bar, together."""
    blocks: list[list[Group]] = []
    for group in groups:
        before = blocks[-1][-1] if blocks else None
        follows = before and line.events[before.notes[-1]].end == line.events[group.notes[0]].onset
        if before and follows and line.bar_at(before.start) == line.bar_at(group.start):
            blocks[-1].append(group)
        else:
            blocks.append([group])
    return blocks


def _counts(line: Voice, groups: Sequence[Group], length: Fraction) -> list[int]:
    """How many groups each new bar holds: all, else those between the strongest points of the source's bar."""
    metres = bar_metres(line)
    places = [place_of(line, metres, group.start) for group in groups]
    odd = odd_part(length.numerator)
    most = {1: LONGEST_PLAIN, 3: LONGEST_BAR}.get(odd, length)
    if length == odd and not places[0].metre.ternary[places[0].beat]:
        most = min(most, max(length, LONGEST_PLAIN))  # 3/4, not 6/4: the beat is a crotchet as before
    count = len(groups)
    if count == 1 or (count * length <= most and (count <= _MOST or odd == 1)):
        return [count]
    ranks = [place.metre.rank(place.point) for place in places]
    cuts = [0, *(i for i in range(1, count) if ranks[i] == min(ranks[1:])), count]
    parts = [_counts(line, groups[a:b], length) for a, b in pairwise(cuts)]
    counts = [number for part in parts for number in part]
    least = min(counts)
    if any(len(part) > 1 for part in parts) and not any(number % least for number in counts):
        return [least] * (count // least)  # bars of one length, where one half of the bar has to be parted
    return counts


def plain_copy(event: Event, keep_fingers: bool = False) -> Event:
    """A note to be played again: without ties, slurs, bow signs, and other things that are said once."""
    kept = {"articulations"} | ({"technical"} if keep_fingers else set())

    def change(_: object, mark: Notation) -> Notation | None:
        gone = mark.edge or mark.family not in kept or mark.name in {"up-bow", "down-bow"}
        return None if gone else mark

    return map_marks((event,), change)[0]


def _stands_between(event: Event, start: Fraction, end: Fraction) -> bool:
    if event.closing:
        return start < event.onset <= end
    return start <= event.onset < end


def _first_time(line: Voice, group: Group) -> Fraction:
    """Rests in front of the first group are not written, where nothing sounds before it."""
    start = line.events[group.notes[0]].onset
    silent = all(event.is_rest for event in line.events if event.onset < start)
    return start if silent else line.bars[0].start


def _next(events: Sequence[Event], note: int) -> Event | None:
    """The note after a note, if nothing is silent between them."""
    following = next((event for event in events[note + 1 :] if not event.grace), None)
    return None if following is None or following.is_rest else following


def _figures(bar: NewBar) -> tuple[int, int]:
    """Beats and lower figure of a new bar; zeros where it has no time signature."""
    pairs = bar.time.pairs if isinstance(bar.time, Time) else ()
    return (int(pairs[0][0]), int(pairs[0][1])) if len(pairs) == 1 else (0, 0)


def _group_time(length: Fraction, count: int, dotted: Fraction | None) -> Time:
    """The time signature of a bar of groups: groups of three parts are dotted beats, and a dotted beat stays one."""
    if dotted and not length % dotted:
        return time_signature(int(3 * length * count / dotted), int(12 / dotted))
    unit = 12 / length
    if unit.denominator == 1 and unit.numerator in {2, 8, 16, 32}:
        return time_signature(3 * count, unit.numerator)
    return signature_of(length * count)
