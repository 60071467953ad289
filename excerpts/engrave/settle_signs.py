"""The signs of a system find their places, one step after the other.

What belongs together is joined (a dynamic and its words, a rehearsal mark and its tempo); then signs are set near
their staff, off the box lines, inside the picture, and last clear of one another. String numerals over quick notes: one
that only repeats the numeral of the note before is left out where there is no room for it; what still touches is set
smaller, and if that is not enough a step further from the notes (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from fontTools.misc.transform import Transform

from excerpts.engrave.box_extent import BoxExtent
from excerpts.engrave.keep_inside import endings_off_sides, keep_inside, off_sides, part_syllables, wrap_words
from excerpts.engrave.movable_signs import (
    WORDS,
    MovableSign,
    Sheet,
    bring_near,
    clear_fingers,
    part_collisions,
    stand,
)
from excerpts.engrave.prepare import NoteRef
from excerpts.engrave.svg.letters import METRONOME_NOTES, letter, music_letter
from excerpts.engrave.svg.rect import union

_SMALL_AND_LARGE = ("dynam", "dir", "tempo", "fing", "string", "syl", "harm")


def settle(
    sheet: Sheet,
    notes: Mapping[str, NoteRef],
    boxes: list[BoxExtent],
    boxed: Callable[[MovableSign, int], bool],
    right: float,
) -> None:
    """Set the marks of a system anew.

    Args:
        sheet: The system.
        notes: The notes of the excerpt by their ids, in the order of the file.
        boxes: The boxes that will be drawn.
        boxed: Whether a mark belongs to what is in the box of that index.
        right: Right end of the picture.
    """
    wrap_words(sheet, right)
    clear_fingers(sheet)
    part_numerals(sheet, notes)
    join_dynamics(sheet)
    join_tempo(sheet)
    bring_near(sheet)
    endings_off_sides(sheet, boxes)
    off_sides(sheet, boxes, ("reh",), boxed, right)
    join_rehearsal(sheet, right)
    part_syllables(sheet)
    keep_inside(sheet, right)
    off_sides(sheet, boxes, _SMALL_AND_LARGE, boxed, right)
    part_collisions(sheet)


BESIDE_DYNAMIC = 0.8
"""White between a dynamic and its words, in staff spaces; common practice, no source."""
_BESIDE_REHEARSAL = 0.9
"""White between a rehearsal mark and the words beside it, in staff spaces."""
_NEAR = 4.0
"""Words so many staff spaces right of a rehearsal mark still share its line."""


def join_dynamics(sheet: Sheet) -> None:
    """Set words that stand at one time with a dynamic, as a direction of their own, on its baseline."""
    for dynamic in sheet.of("dynam"):
        for words in sheet.of("dir"):
            if not _together(dynamic, words) or sheet.above(dynamic) != sheet.above(words):
                continue
            dx = dynamic.rect.right + BESIDE_DYNAMIC * sheet.space - words.rect.left
            dy = dynamic.baseline - words.baseline
            others = sheet.but(words)
            if not sheet.hits(words.rect.moved(dx, dy), others):
                words.move(dx, dy)
                sheet.merge(dynamic, words)
                break


def join_tempo(sheet: Sheet) -> None:
    """Set a metronome mark that stands by itself behind the tempo words of the same time, on one line.

    Words in brackets stand behind it: "♩ = 60 (Allegro)".
    """
    for beat in [mark for mark in sheet.of("tempo") if _is_metronome(mark)]:
        for words in sheet.of(*WORDS):
            if words is beat or _is_metronome(words) or not _together(beat, words):
                continue
            if sheet.above(beat) != sheet.above(words):
                continue
            others = sheet.but(beat, words)
            first, second = (beat, words) if _in_brackets(words) else (words, beat)
            first.move(min(0.0, second.rect.left - first.rect.left))
            dx = first.rect.right + BESIDE_DYNAMIC * sheet.space - second.rect.left
            second.move(dx, first.baseline - second.baseline)
            stand(words, sheet, others)
            stand(beat, sheet, others)
            level = min(words.baseline, beat.baseline)
            words.move(dy=level - words.baseline)
            beat.move(dy=level - beat.baseline)
            sheet.merge(words, beat)
            break


def _in_brackets(words: MovableSign) -> bool:
    faces = ((bold, italic) for bold in (True, False) for italic in (True, False))
    brackets = (letter("(", bold, italic, music=False) for bold, italic in faces)
    return any(sign is not None and sign.outline is words.inks[0].outline for sign in brackets)


def _is_metronome(mark: MovableSign) -> bool:
    """Whether a mark begins with a note, or with a bracket and a note."""
    first = [ink.outline for ink in mark.inks[: 1 + _in_brackets(mark)]]
    return mark.kind == "tempo" and any(
        sign is not None and sign.outline in first
        for sign in (music_letter(ord(note)) for note in METRONOME_NOTES)
    )


def _together(one: MovableSign, other: MovableSign) -> bool:
    return one.to.at is not None and (one.to.at, one.to.staff) == (other.to.at, other.to.staff)


def join_rehearsal(sheet: Sheet, right: float) -> None:
    """Set words at the start of a bar beside its rehearsal mark, the middles of both at one height.

    Args:
        sheet: The system.
        right: Right end of the picture: both move left where the words would pass it.
    """
    for mark in sheet.of("reh"):
        words = next((it for it in sheet.of(*WORDS) if _shares_line(it, mark, sheet)), None)
        if words is None:
            continue
        others = sheet.but(mark, words)
        words.move(max(0.0, mark.rect.right + _BESIDE_REHEARSAL * sheet.space - words.rect.left))
        over = words.rect.right - right
        if over > _NEAR * sheet.space:
            continue
        if over > 0:
            words.move(-over)
            mark.move(-over)
        stand(words, sheet, others)
        stand(mark, sheet, others)
        lower, higher = sorted((mark, words), key=lambda it: it.rect.top + it.rect.bottom, reverse=True)
        _level(lower, higher)
        if sheet.hits(lower.rect, others):
            # Something stands over the lower one's place: it goes above that, by itself.
            stand(lower, sheet, others)


def _shares_line(words: MovableSign, mark: MovableSign, sheet: Sheet) -> bool:
    at = words.to.at
    if at is None or mark.to.at is None or at.bar != mark.to.at.bar or at.onset != 0:
        return False
    return sheet.above(words) and words.rect.left < mark.rect.right + _NEAR * sheet.space


def _level(one: MovableSign, to: MovableSign) -> None:
    """Move a mark so that its middle has the height of the other's."""
    one.move(dy=(to.rect.top + to.rect.bottom - one.rect.top - one.rect.bottom) / 2)


_GAP = 0.3
"""White between two numerals, in staff spaces."""
_ROW = 1.0
"""Numerals nearer to one another than so many staff spaces are seen as one row."""
_SMALLER = 0.78
"""How much smaller crowded numerals are set."""


def part_numerals(sheet: Sheet, notes: Mapping[str, NoteRef]) -> None:
    """Keep the string numerals of a system apart.

    Args:
        sheet: The system; numerals that are left out are removed from it.
        notes: The notes of the excerpt by their ids, in the order of the file.
    """
    if not sheet.of("string"):
        return
    _drop_repeats(sheet, _order(notes))
    crowded: list[MovableSign] = []
    for mark in sheet.of("string"):
        if _touching(mark, sheet, _GAP):
            # Its neighbours become smaller with it, so that one row has one size.
            crowded.extend([mark, *(m for m in _touching(mark, sheet, _ROW) if m.kind == "string")])
    for mark in dict.fromkeys(crowded):
        _shrink(mark)
    for mark in sheet.of("string"):
        for _ in sheet.marks:
            near = [other for other in _touching(mark, sheet, _GAP) if other.rect.left <= mark.rect.left]
            if not near:
                break
            rise = _GAP * sheet.space + 0.01
            if sheet.above(mark):
                mark.move(dy=min(other.rect.top for other in near) - rise - mark.rect.bottom)
            else:
                mark.move(dy=max(other.rect.bottom for other in near) + rise - mark.rect.top)


def _order(notes: Mapping[str, NoteRef]) -> dict[str, tuple[int, str, int]]:
    """Staff and voice of each note, and its place in them: chord notes share one, rests count."""
    places: dict[str, tuple[int, str, int]] = {}
    last: dict[tuple[int, str], tuple[object, int]] = {}
    for ident, note in notes.items():
        line = (note.staff, note.voice)
        when = (note.bar, note.onset, ident if note.grace else "")
        before, count = last.get(line, (None, -1))
        count += when != before
        last[line] = (when, count)
        places[ident] = (*line, count)
    return places


def _drop_repeats(sheet: Sheet, place: dict[str, tuple[int, str, int]]) -> None:
    """Leave out crowded numerals that repeat the numeral of the note just before."""
    before: MovableSign | None = None
    for mark in sheet.of("string"):
        if before is not None and _next(place.get(before.to.note), place.get(mark.to.note)):
            crowded = mark.rect.left - before.rect.right < _GAP * sheet.space
            if crowded and _same(before, mark):
                sheet.marks.remove(mark)
        before = mark


def _next(one: tuple[int, str, int] | None, other: tuple[int, str, int] | None) -> bool:
    return one is not None and other is not None and one[:2] == other[:2] and other[2] == one[2] + 1


def _same(one: MovableSign, other: MovableSign) -> bool:
    return [ink.outline for ink in one.inks] == [ink.outline for ink in other.inks]


def _touching(mark: MovableSign, sheet: Sheet, white: float) -> list[MovableSign]:
    """The other numerals and fingers that come nearer to a numeral than so many staff spaces."""
    around = mark.rect.grown(white * sheet.space)
    own = mark.to.note
    return [
        other
        for other in sheet.marks
        if other is not mark
        and other.kind in {"string", "fing"}
        and not (other.kind == "fing" and other.to.note == own)
        and around.meets(other.rect)
    ]


def _shrink(mark: MovableSign) -> None:
    """Set a numeral smaller, its foot and its middle where they were."""
    x, y = (mark.rect.left + mark.rect.right) / 2, mark.rect.bottom
    about = Transform(_SMALLER, 0.0, 0.0, _SMALLER, x * (1 - _SMALLER), y * (1 - _SMALLER))
    mark.inks = [replace(ink, map=about.transform(ink.map)) for ink in mark.inks]
    mark.rect = union(ink.rect for ink in mark.inks)
