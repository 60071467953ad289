"""Beams of the bars being written: the source's where a bar is printed as there, new ones by the metre elsewhere.

The groups are common practice, no source: simple metres by the beat, compound ones by the dotted beat; bars of quavers
only in 4/4 by the half bar, in 2/4 and 3/4 by the bar; without a metre by the quarter note.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final

from excerpts.musicxml.elements import Beam
from excerpts.musicxml.metre import BEAT, NO_POINT, Metre
from excerpts.musicxml.tuplets import is_one_beam
from excerpts.notes.spelling import Note

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
        for index, beams in zip(group, beam_group([stems[i] for i in group], metre), strict=True):
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


def beam_group(stems: list[Stem], metre: Metre) -> list[tuple[str, ...]]:
    """The beams of stems that share one, level by level."""
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


def rebeam(bars: list[list[Note]], metres: list[tuple[Metre, Fraction]]) -> None:
    """Beam the bars that are not printed as in the source, those with half a beam, and all if there is none.

    Args:
        bars: The notes of each bar; their beams are set.
        metres: The metre of each bar and where in it the bar starts.
    """
    none = not any(note.beams for notes in bars for note in notes)
    fresh = [none or any(not note.kept and _levels(note) for note in notes) for notes in bars]
    for index in _half_beamed(bars):
        fresh[index] = True
    for index in [*range(1, len(bars)), *range(len(bars) - 1, 0, -1)]:
        if _open_beam(bars[index - 1]) and (fresh[index] or fresh[index - 1]):
            fresh[index] = fresh[index - 1] = True
    for notes, is_fresh, (metre, shift) in zip(bars, fresh, metres, strict=True):
        if is_fresh:
            _beam_bar(notes, metre, shift)
        _bracket_tuplets(notes)


def _half_beamed(bars: list[list[Note]]) -> Iterator[int]:
    """Bars with a beam that begins without an end or ends without a beginning."""
    for graces in (False, True):
        open_levels: dict[int, int] = {}
        for index, notes in enumerate(bars):
            for note in notes:
                if bool(note.event.grace) != graces or note.event.is_rest:
                    continue
                if not note.beams and open_levels:
                    yield from open_levels.values()
                    open_levels = {}
                yield from _follow(note, index, open_levels)
        yield from open_levels.values()


def _follow(note: Note, bar: int, open_levels: dict[int, int]) -> Iterator[int]:
    """Follow the beams of one note; gives the bars in which one does not fit."""
    for level, part in enumerate(note.beams, 1):
        text = part.text
        if text == "begin":
            if level in open_levels:
                yield open_levels[level]
            open_levels[level] = bar
        elif text in {"continue", "end"}:
            if level not in open_levels:
                yield bar
            elif text == "end":
                del open_levels[level]


def _open_beam(notes: list[Note]) -> bool:
    """Whether the source beams the last note of a bar on over the barline."""
    beams = next((note.beams for note in reversed(notes) if not note.event.grace), ())
    return bool(beams) and beams[0].text in {"begin", "continue"}


def _levels(note: Note) -> int:
    return LEVELS.get(note.value.type, 0) if note.value and not note.event.is_rest else 0


def _beam_bar(notes: list[Note], metre: Metre, shift: Fraction) -> None:
    timed = [note for note in notes if not note.event.grace]
    stems = [_stem(note, shift) for note in timed]
    for note, levels in zip(timed, beam(stems, metre), strict=True):
        note.beams = _beam_elements(levels)
    for is_grace, group in groupby(notes, lambda note: bool(note.event.grace)):
        graces = list(group) if is_grace else []
        for grace, levels in zip(graces, beam_graces([_levels(g) for g in graces]), strict=True):
            grace.beams = _beam_elements(levels)


def _bracket_tuplets(notes: list[Note]) -> None:
    """Leave the bracket off tuplets whose notes are one beamed group of their own."""
    for note in notes:
        if "start" in note.tuplet_edges:
            group = [other for other in notes if other.tuplet == note.tuplet]
            note.bracket = not is_one_beam([other.beams[0].text if other.beams else "" for other in group])


def _stem(note: Note, shift: Fraction) -> Stem:
    tuplet = f"{note.tuplet.start}" if note.tuplet else str(note.modification or "")
    start = note.onset + shift
    return Stem(start, start + note.duration, _levels(note), note.event.is_rest, tuplet)


def _beam_elements(levels: tuple[str, ...]) -> tuple[Beam, ...]:
    return tuple(Beam(level, str(number)) for number, level in enumerate(levels, 1))
