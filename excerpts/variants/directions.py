"""Directions at the edges of a box: kept where they still say something, moved to the box's first note."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.musicxml.elements import Direction, Offset, Sign
from excerpts.notes import TimedElement, Voice

_SPANNING: Final = {"wedge", "octave-shift", "dashes", "bracket", "pedal", "principal-voice"}
_STOPS: Final = {"stop", "discontinue"}
_BEFORE: Final = {"direction", "sound"}
"""Elements in front of the box that still hold at its first note."""


@dataclass(slots=True)
class _Item:
    """One placed thing with its time in quarter notes from the start of the line."""

    placed: TimedElement
    time: Fraction

    @property
    def spans(self) -> list[Sign]:
        return [sign for sign in self.placed.signs if sign.name in _SPANNING]

    def says(self, name: str) -> bool:
        """Whether a sign of this name is among what it says."""
        return any(sign.name == name for sign in self.placed.signs)


def clip_placed(line: Voice, start: Fraction, end: Fraction) -> tuple[TimedElement, ...]:
    """What is placed in a line, brought inside the box.

    Args:
        line: The line; its bars are those that are kept.
        start: Start of the box in quarter notes.
        end: Time of the last note that is kept (the arrival), or the end of the box.
    """
    items = [_item(line, placed) for placed in line.placed]
    partners = _partners(items)
    kept: list[TimedElement] = []
    for item in items:
        time = _new_time(item, items, partners, start, end)
        if time is not None:
            kept.append(_at(line, item, time))
    return tuple(sorted(kept, key=lambda placed: (placed.bar, placed.onset, placed.graces)))


def _item(line: Voice, placed: TimedElement) -> _Item:
    return _Item(placed, line.time_of(placed) + placed.offset)


def _partners(items: list[_Item]) -> dict[int, int]:
    """Index of the other end for each direction that starts or stops a hairpin or line."""
    waiting: dict[tuple[str, str], int] = {}
    partners: dict[int, int] = {}
    for index, item in enumerate(items):
        for sign in item.spans:
            key = (sign.name, sign.number or "1")
            if getattr(sign, "type", "") not in _STOPS:
                waiting[key] = index
            elif key in waiting:
                partners[index] = waiting.pop(key)
                partners[partners[index]] = index
    return partners


def _new_time(
    item: _Item, items: list[_Item], partners: dict[int, int], start: Fraction, end: Fraction
) -> Fraction | None:
    """Where a thing stands in the variant; None when it goes."""
    if item.placed.name in {"barline", "print"}:
        return item.time if item.placed.name == "barline" else None
    if item.placed.name == "attributes":
        return item.time if item.time <= end else None
    if item.spans:
        other = partners.get(items.index(item))
        if other is None or _outside(item.time, items[other].time, start, end):
            return None
        return min(max(item.time, start), end)
    if item.time > end:
        return None
    if item.time < start:
        return start if _still_holds(item, items, start) else None
    return item.time


def _outside(one: Fraction, other: Fraction, start: Fraction, end: Fraction) -> bool:
    low, high = sorted((one, other))
    return max(low, start) >= min(high, end)


def _still_holds(item: _Item, items: Iterable[_Item], start: Fraction) -> bool:
    """Whether a direction in front of the box tells how the box is played: the last dynamic, words, tempo."""
    if item.placed.name not in _BEFORE or item.says("rehearsal"):
        return False
    if not item.says("dynamics"):
        return True
    later = [other for other in items if item.time < other.time <= start and other.says("dynamics")]
    return not later


def _at(line: Voice, item: _Item, time: Fraction) -> TimedElement:
    """The thing at a new time, without the offset that it needed at its old place."""
    bar = item.placed.bar
    if time == item.time:
        return item.placed
    while bar + 1 < len(line.bars) and time >= line.bars[bar].end:
        bar += 1
    while bar and time < line.bars[bar].start:
        bar -= 1
    sign = without_offset(item.placed.sign)
    return replace(item.placed, bar=bar, onset=time - line.bars[bar].start, sign=sign, graces=0)


def without_offset(sign: Sign) -> Sign:
    """A direction without the offset that it needed at another place; any other sign as it is."""
    if not isinstance(sign, Direction):
        return sign
    return replace(sign, rest=tuple(one for one in sign.rest if not isinstance(one, Offset)))
