"""Beams by the metre: by beat, quavers in fours or whole bars where the metre has it so.

The groups are common practice, no source: simple metres by the beat, compound ones by the dotted beat;
bars of quavers only in 4/4 by the half bar, in 2/4 and 3/4 by the bar; without a metre by the quarter note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.musicxml.metre import BEAT, NO_POINT, Metre

LEVELS: Final[dict[str, int]] = {
    "eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6, "512th": 7, "1024th": 8,
}  # fmt: skip
"""Number of beams (or flags) of each note type."""


@dataclass(frozen=True, slots=True)
class Stem:
    """One note or chord as the beams see it.

    Attributes:
        onset: Quarter notes from the start of the bar, as the metre counts.
        end: Where it ends.
        levels: Number of beams it would carry; 0 for quarters and longer.
        rest: A rest ends the group.
        tuplet: Identifies its tuplet; "" outside.
    """

    onset: Fraction
    end: Fraction
    levels: int
    rest: bool
    tuplet: str = ""


def beam(stems: Sequence[Stem], metre: Metre) -> list[tuple[str, ...]]:
    """Give each stem of a bar its beams, level by level ("begin", "forward hook" …); empty = none."""
    result: list[tuple[str, ...]] = [()] * len(stems)
    for group in _groups(stems, metre):
        for index, beams in zip(group, _beam_group([stems[i] for i in group], metre), strict=True):
            result[index] = beams
    return result


def beam_graces(levels: Sequence[int]) -> list[tuple[str, ...]]:
    """Beams of grace notes that follow each other without a note between."""
    if len(levels) < 2 or min(levels) < 1:
        return [()] * len(levels)
    stems = [Stem(Fraction(i, 64), Fraction(i + 1, 64), level, False) for i, level in enumerate(levels)]
    breaks = [0] * (len(stems) - 1)
    return [_stem_beams(stems, breaks, index, [True] * len(stems)) for index in range(len(stems))]


def _groups(stems: Sequence[Stem], metre: Metre) -> list[list[int]]:
    """Indices of the stems that share a beam."""
    spans = _wide_spans(stems, metre)
    groups: list[list[int]] = []
    key: object = None
    for index, stem in enumerate(stems):
        if stem.rest or stem.levels == 0:
            key = None
            continue
        own = spans.get(index, (stem.onset // metre.length, metre.group_at(stem.onset)))
        if key == own and groups and stems[groups[-1][-1]].end == stem.onset:
            groups[-1].append(index)
        else:
            groups.append([index])
        key = own
    return [group for group in groups if len(group) > 1]


def _wide_spans(stems: Sequence[Stem], metre: Metre) -> dict[int, object]:
    """Stems of plain quavers that are beamed over more than a beat, with the name of their span."""
    spans: dict[int, object] = {}
    for start, end in _spans(metre):
        inside = [i for i, stem in enumerate(stems) if start <= stem.onset % metre.length < end]
        plain = all(stems[i].levels == 1 and not stems[i].tuplet and _is_even(stems[i]) for i in inside)
        full = len(metre.groups) != 3 or len(inside) == 6
        if inside and plain and full:
            spans.update({i: ("span", stems[i].onset // metre.length, start) for i in inside})
    return spans


def _is_even(stem: Stem) -> bool:
    return stem.end - stem.onset == Fraction(1, 2) and stem.onset % Fraction(1, 2) == 0


def _spans(metre: Metre) -> list[tuple[Fraction, Fraction]]:
    if any(metre.ternary) or not metre.text:
        return []
    if set(metre.groups) == {Fraction(1)} and len(metre.groups) in {2, 3, 4}:
        cuts = [Fraction(0), *metre.halves, metre.length]
    elif set(metre.groups) == {Fraction(1, 2)}:
        cuts = [Fraction(0), *metre.halves, metre.length]
    else:
        return []
    return list(zip(cuts, cuts[1:], strict=False))


def _beam_group(stems: list[Stem], metre: Metre) -> list[tuple[str, ...]]:
    breaks = [_kept_levels(a, b, stems, metre) for a, b in zip(stems, stems[1:], strict=False)]
    forward = [metre.rank(stem.onset) < metre.rank(stem.end) for stem in stems]
    return [_stem_beams(stems, breaks, index, forward) for index in range(len(stems))]


def _kept_levels(left: Stem, right: Stem, stems: list[Stem], metre: Metre) -> int:
    """How many beams go on between two neighbours at most; 0 = as many as both have.

    Demisemiquavers show the quavers of the beat: only one beam goes on there. So do neighbouring tuplets.
    """
    if left.tuplet != right.tuplet and left.tuplet and right.tuplet:
        return 1
    fine = max(stem.levels for stem in stems) >= 3
    rank = metre.rank(right.onset)
    if fine and (rank <= BEAT + 1) and rank != NO_POINT:
        return 1
    return 0


def _stem_beams(
    stems: Sequence[Stem], breaks: Sequence[int], index: int, forward: Sequence[bool]
) -> tuple[str, ...]:
    def joined(left: int, level: int) -> bool:
        if left < 0 or left + 1 >= len(stems):
            return False
        if breaks[left] and level > breaks[left]:
            return False
        return stems[left].levels >= level and stems[left + 1].levels >= level

    result = []
    for level in range(1, stems[index].levels + 1):
        before, after = joined(index - 1, level), joined(index, level)
        if before and after:
            result.append("continue")
        elif after:
            result.append("begin")
        elif before:
            result.append("end")
        else:
            result.append(_hook(stems, breaks, index, forward[index]))
    return tuple(result)


def _hook(stems: Sequence[Stem], breaks: Sequence[int], index: int, forward: bool) -> str:
    """Direction of a short beam: towards the neighbour in the same part of the beat."""
    if index == 0:
        return "forward hook"
    if index == len(stems) - 1:
        return "backward hook"
    if bool(breaks[index - 1]) != bool(breaks[index]):
        return "forward hook" if breaks[index - 1] else "backward hook"
    return "forward hook" if forward else "backward hook"
