"""Marks that belong together share a line: a dynamic and its words, a rehearsal mark and its tempo."""

from __future__ import annotations

from excerpts.engrave.movable_signs import WORDS, MovableSign, Sheet
from excerpts.engrave.place_signs import stand
from excerpts.engrave.svg.letters import METRONOME_NOTES, letter, music_letter

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
            others = [mark for mark in sheet.marks if mark is not words]
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
            others = [mark for mark in sheet.marks if mark is not beat and mark is not words]
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
    return mark.kind == "tempo" and any(
        sign is not None and sign.outline is mark.inks[0].outline
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
        others = [m for m in sheet.marks if m is not mark and m is not words]
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
