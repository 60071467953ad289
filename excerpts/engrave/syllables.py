"""Syllables of one line of text keep clear of one another."""

from __future__ import annotations

from itertools import pairwise

from excerpts.engrave.movable_signs import MovableSign, Sheet

_BETWEEN = 0.3
"""White between two syllables that had to move, in staff spaces."""
_FURTHEST = 1.0
"""So many staff spaces a syllable may move from its note to make room for the next."""


def part_syllables(sheet: Sheet) -> None:
    """Move two syllables that overlap apart, each half the way, where their other neighbours allow it."""
    for line in _lines(sheet):
        for one, other in pairwise(line):
            half = (one.rect.right + _BETWEEN * sheet.space - other.rect.left) / 2
            if not 0.5 * _BETWEEN * sheet.space < half < _FURTHEST * sheet.space:
                continue
            rest = [mark for mark in sheet.marks if mark is not one and mark is not other]
            if not sheet.hits(one.rect.moved(-half), rest) and not sheet.hits(other.rect.moved(half), rest):
                one.move(-half)
                other.move(half)


def push_left(syllable: MovableSign, sheet: Sheet) -> None:
    """Let the syllables before one that had to move left give way to it."""
    line = next((line for line in _lines(sheet) if syllable in line), [])
    for other in reversed([mark for mark in line if mark.rect.left < syllable.rect.left]):
        over = other.rect.right + _BETWEEN * sheet.space - syllable.rect.left
        if over > 0:
            other.move(-over)
        syllable = other


def _lines(sheet: Sheet) -> list[list[MovableSign]]:
    """The syllables that share a baseline, from left to right."""
    lines: dict[float, list[MovableSign]] = {}
    for mark in sheet.of("syl"):
        lines.setdefault(round(mark.baseline, 1), []).append(mark)
    return list(lines.values())
