"""Beams of the bars being written: the source's where the bar is printed as there, new ones elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from excerpts.musicxml.elements import Beam
from excerpts.musicxml.metre import Metre
from excerpts.notes.beam_groups import LEVELS, Stem, beam, beam_graces
from excerpts.notes.note import Note


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
            ends = [_first_level(other) for other in group]
            whole = ends[0] == "begin" and ends[-1] == "end" and set(ends[1:-1]) <= {"continue"}
            note.bracket = not whole


def _first_level(note: Note) -> str:
    return note.beams[0].text if note.beams else ""


def _stem(note: Note, shift: Fraction) -> Stem:
    tuplet = f"{note.tuplet.start}" if note.tuplet else str(note.modification or "")
    start = note.onset + shift
    return Stem(start, start + note.duration, _levels(note), note.event.is_rest, tuplet)


def _beam_elements(levels: tuple[str, ...]) -> tuple[Beam, ...]:
    return tuple(Beam(level, str(number)) for number, level in enumerate(levels, 1))
