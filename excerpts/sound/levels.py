"""How loud a line is: dynamics, hairpins and accents as curves of decibels from mezzo forte.

A hairpin leads to the dynamic behind it; one that leads to none changes by one dynamic.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Final

from excerpts.musicxml.elements import Direction, Dynamics, Sign, Wedge, Words
from excerpts.notes import Voice
from excerpts.sound.playing_rules import ACCENT_TIME, DYNAMICS, FALL_TIME, FALLING, SFORZATO, STEP

Levels = tuple[tuple[Fraction, float], ...]
"""Points of a curve: quarter notes from the start of the note, and decibels; straight lines between them."""

_NEAR: Final = Fraction(1)
"""How far behind its end a hairpin looks for the dynamic that it leads to, in quarter notes."""

_QUICK: Final = Fraction(1, 8)
"""Quarter notes in which a dynamic inside a note is reached."""

_GROWS: Final = {"cresc": True, "dim": False, "decresc": False}


def level_at(levels: Levels, time: Fraction, *, before: bool = False) -> float:
    """The level of a curve at a time; where it jumps, after the jump, or before it."""
    if time < levels[0][0]:
        return levels[0][1]
    for (start, low), (end, high) in pairwise(levels):
        if start < time < end or (time == end and before) or start == time < end:
            return low + (high - low) * float((time - start) / (end - start)) if end > start else low
    return levels[-1][1]


def part_of_levels(levels: Levels, start: Fraction, end: Fraction) -> Levels:
    """The curve from one time to another, counted from the first."""
    inside = [(time, level) for time, level in levels if start < time < end]
    points = [(start, level_at(levels, start)), *inside, (end, level_at(levels, end, before=True))]
    if end <= start or len({level for _, level in points}) == 1:
        points = points[:1]
    return tuple((time - start, level) for time, level in points)


@dataclass(slots=True)
class Loudness:
    """How loud a line is from its start to its end.

    Attributes:
        points: Times in quarter notes from the start of the line, and decibels; a jump is two points of one time.
        struck: Decibels that are added to what is struck at a time.
    """

    points: list[tuple[Fraction, float]] = field(default_factory=lambda: [(Fraction(0), 0.0)])
    struck: dict[Fraction, float] = field(default_factory=dict)

    def of_note(self, start: Fraction, end: Fraction, accent: float) -> Levels:
        """The curve of a note.

        Args:
            start: When it begins, in quarter notes from the start of the line.
            end: When it ends.
            accent: Decibels that its own signs add.
        """
        base: list[tuple[Fraction, float]] = []
        for time, level in part_of_levels(tuple(self.points), start, end):
            jump = bool(base) and base[-1][0] == time
            later = min(time + _QUICK, end - start) if jump else time
            base.append((max(later, base[-1][0]) if base else later, level))
        accent += self.struck.get(start, 0.0)
        if not accent or end == start:
            return tuple(base)
        fade = (end - start) * ACCENT_TIME
        times = sorted({fade, *(time for time, _ in base)})
        return tuple(
            (time, level_at(tuple(base), time) + accent * max(0.0, 1 - float(time / fade))) for time in times
        )


@dataclass(frozen=True, slots=True)
class _Hairpin:
    start: Fraction
    end: Fraction | None
    grows: bool


def loudness(line: Voice) -> Loudness:
    """The loudness of a line, by its dynamics, hairpins and words."""
    made = Loudness()
    dynamics = sorted(_dynamics(line), key=lambda one: one[0])
    hairpins = sorted(_hairpins(line), key=lambda one: one.start)
    level = 0.0
    signs: list[tuple[Fraction, str | _Hairpin]] = [*dynamics, *((one.start, one) for one in hairpins)]
    for time, sign in sorted(signs, key=lambda one: (one[0], isinstance(one[1], _Hairpin))):
        if isinstance(sign, _Hairpin):
            level = _swell(made, sign, level, dynamics, hairpins)
        else:
            level = _set(made, time, sign, level)
    return made


def _set(made: Loudness, time: Fraction, name: str, level: float) -> float:
    """Write a dynamic sign, and give the level after it."""
    if name in SFORZATO:
        made.struck[time] = SFORZATO[name]
        return level
    first, after = FALLING.get(name, (name, name))
    _cut_off(made, time)
    made.points += [(time, level), (time, _level(first))]
    if after != first:
        made.points.append((time + FALL_TIME, _level(after)))
    return _level(after)


def _swell(
    made: Loudness,
    hairpin: _Hairpin,
    level: float,
    dynamics: list[tuple[Fraction, str]],
    hairpins: list[_Hairpin],
) -> float:
    """Write a hairpin, and give the level that it leads to."""
    lasting = [(time, name) for time, name in dynamics if name not in SFORZATO and time > hairpin.start]
    after = next((one.start for one in hairpins if one.start > hairpin.start), None)
    end, goal = hairpin.end, None
    if lasting:
        time, name = lasting[0]
        reached = end is None or time <= end + _NEAR
        if reached and (after is None or time <= after):
            end = time if end is None else min(end, time)
            goal = _level(FALLING.get(name, (name,))[0])
    if end is None:
        return level  # words without a goal
    if goal is None or (goal > level) != hairpin.grows:
        goal = level + (STEP if hairpin.grows else -STEP)
    _cut_off(made, hairpin.start)
    made.points += [(hairpin.start, level), (end, goal)]
    return goal


def _cut_off(made: Loudness, time: Fraction) -> None:
    """End what is still changing at a time."""
    while len(made.points) > 1 and made.points[-1][0] > time:
        made.points.pop()


def _level(name: str) -> float:
    """The level of a dynamic; more than four letters are as four."""
    return DYNAMICS.get(name[:4], 0.0)


def _signs(line: Voice) -> Iterator[tuple[Fraction, Sign]]:
    for placed in line.placed:
        if isinstance(placed.sign, Direction):
            time = line.time_of(placed) + placed.sign.offset
            yield from ((time, sign) for sign in placed.signs)
    for event in line.events:
        for mark in (*event.rest_marks, *event.marks):
            yield event.onset, mark.sign


def _dynamics(line: Voice) -> Iterator[tuple[Fraction, str]]:
    """The dynamics that are known, with their times."""
    for time, sign in _signs(line):
        if isinstance(sign, Dynamics):
            name = "".join(one for one in sign.signs if isinstance(one, str))
            if name in FALLING or name in SFORZATO or name[:4] in DYNAMICS:
                yield time, name


def _hairpins(line: Voice) -> Iterator[_Hairpin]:
    """Hairpins, and the words that say the same; one that the cut has halved goes to its edge."""
    opened: dict[str, tuple[Fraction, bool]] = {}
    for end in line.open_ends:
        if end.kind == "hairpin" and end.edge == "start":
            opened["1"] = (Fraction(0), end.detail == "crescendo")
    last = line.bars[-1].end
    for time, sign in sorted(_signs(line), key=lambda one: one[0]):
        if isinstance(sign, Words):
            word = sign.text.strip().casefold().rstrip(".")
            grows = next((grows for start, grows in _GROWS.items() if word.startswith(start)), None)
            if grows is not None:
                yield _Hairpin(time, None, grows)
        elif isinstance(sign, Wedge) and sign.type in {"crescendo", "diminuendo"}:
            opened[sign.number or "1"] = (time, sign.type == "crescendo")
        elif isinstance(sign, Wedge) and sign.type == "stop":
            start, grows = opened.pop(sign.number or "1", (time, True))
            if start < time:
                yield _Hairpin(start, time, grows)
    for start, grows in opened.values():
        yield _Hairpin(start, last, grows)
