"""Rhythms that make groups longer: the short notes keep their value, and the bars are made anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, groupby, pairwise
from typing import Final

from excerpts.errors import VariantError
from excerpts.musicxml.elements import Time
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.notes.time_span import odd_part
from excerpts.variants.groups import Group, place_of
from excerpts.variants.ornaments import without_ornaments
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_times, where
from excerpts.variants.rebar import Item, NewBar, rebar, signature_of, source_time, time_signature
from excerpts.variants.reshare import as_written
from excerpts.variants.runs import written
from excerpts.variants.same_speed import same_speed
from excerpts.variants.spanning_marks import map_marks

LONGEST_BAR: Final = Fraction(6)
"""The longest bar of dotted beats in quarter notes: 12/8."""
LONGEST_PLAIN: Final = Fraction(4)
"""The longest bar of plain beats in quarter notes: 4/4."""

_MOST: Final = 4
"""The most dotted beats in a bar."""

Make = Callable[[Sequence[Event], Event | None], list[Item]]
"""Makes the new notes of a group from its notes and the note that follows them."""


@dataclass(slots=True)
class _Sheet:
    """What has been written so far."""

    line: Voice
    items: list[Item]
    bars: list[NewBar]

    def copy(self, start: Fraction, end: Fraction) -> None:
        """Copy what stands between two times, in bars that end where those of the source end."""
        if start == end:
            return
        low, high = box_times(self.line)
        for event in self.line.events:
            if _stands_between(event, start, end):
                outside = event.onset >= high or (event.duration > 0 and event.end <= low)
                self.items.append(Item(event, event.duration, outside))
        for place, (bar, (metre, _)) in enumerate(zip(self.line.bars, bar_metres(self.line), strict=True)):
            length = min(end, bar.start + bar.length) - max(start, bar.start)
            if length == bar.length:
                self.bars.append(NewBar(length, source_time(self.line, place)))
            elif length > 0:
                shown = length >= 1  # nobody counts what is shorter than a beat
                self.bars.append(NewBar(length, signature_of(length, any(metre.ternary), shown)))

    def groups(self, block: Sequence[Group], make: Make) -> None:
        """Write groups that follow each other in a bar of the source: in one bar, or in several."""
        events = self.line.events
        made = [
            make([events[note] for note in group.notes], _next(events, group.notes[-1])) for group in block
        ]
        lengths = [sum((item.length for item in items), Fraction(0)) for items in made]
        for length, alike in groupby(zip(block, made, lengths, strict=True), key=lambda one: one[2]):
            groups, items, _ = zip(*alike, strict=True)
            for count in _counts(self.line, groups, length):
                self.bars += self._bars(items[0], length, count)
            self.items += [item for group in items for item in group]

    def _bars(self, items: Sequence[Item], length: Fraction, count: int) -> list[NewBar]:
        """The bar of some groups, or several bars of a long group if no note goes over their barlines."""
        if length <= LONGEST_BAR:
            return [NewBar(length * count, group_time(length, count))]
        starts = set(accumulate(item.length for item in items))
        for beats in (4, 3):
            if (
                all(Fraction(edge) in starts for edge in range(beats, int(length) + 1, beats))
                and not length % beats
            ):
                return [NewBar(Fraction(beats), time_signature(beats, 4))] * int(length / beats)
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
    warnings = as_written(line, varied)
    events, report = without_ornaments(line, line.events, varied)
    line = replace(line, events=events, report=line.report + report + warnings)
    blocks = _blocks(line, find(line))
    sheet = _Sheet(line, [], [])
    time = _first_time(line, blocks[0][0])
    for block in blocks:
        sheet.copy(time, line.events[block[0].notes[0]].onset)
        sheet.groups(block, make)
        time = line.events[block[-1].notes[-1]].end
    sheet.copy(time, line.bars[-1].start + line.bars[-1].length)
    unit = min(written(line.events[note]) for note in blocks[0][0].notes)
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
    odd = odd_part(length.numerator)
    most = {1: LONGEST_PLAIN, 3: LONGEST_BAR}.get(odd, length)
    count = len(groups)
    if count == 1 or (count * length <= most and (count <= _MOST or odd == 1)):
        return [count]
    metres = bar_metres(line)
    places = [place_of(line, metres, group.start) for group in groups]
    ranks = [place.metre.rank(place.point) for place in places]
    cuts = [0, *(i for i in range(1, count) if ranks[i] == min(ranks[1:])), count]
    return [part for a, b in pairwise(cuts) for part in _counts(line, groups[a:b], length)]


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


def group_time(length: Fraction, count: int) -> Time:
    """The time signature of a bar of groups: groups of three parts are dotted beats."""
    unit = 12 / length
    if unit.denominator == 1 and unit.numerator in {8, 16, 32}:
        return time_signature(3 * count, unit.numerator)
    return signature_of(length * count)
