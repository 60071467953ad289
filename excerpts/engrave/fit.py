"""Engraving that stays inside its picture and on its page: narrower, smaller, or in groups of parts.

Staves no smaller than 3.7 mm: the smallest of the engravers' sizes, for orchestral scores (E. Gould, Behind Bars, on
staff sizes; as a table of its German edition, p. 529, gives it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import ceil
from typing import Final

from excerpts.engrave.engraving import Engraving, engrave_as_told
from excerpts.engrave.long_rests import with_long_rests
from excerpts.engrave.parts import in_groups, part_count
from excerpts.engrave.style import Style
from excerpts.errors import EngravingError
from excerpts.excerpt import Excerpt

SMALLEST_STAFF: Final = 3.7
"""Height of the smallest staves, in millimetres."""

_SLACK: Final = 0.1
"""Ink that reaches so many millimetres past the end of the picture is let be: half of a barline does."""
_MOST_INSET: Final = 0.25
"""Part of the width that the staves may be narrowed by for what sticks out."""
_TRIES: Final = 3
_SAFE: Final = 0.985
"""How much smaller than reckoned staves are set: what stands over them does not shrink quite as they do."""


def engrave(excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Engraving:
    """Engrave an excerpt: one flat SVG for each system, with its boxes and greyed context.

    Systems that are higher than the style allows are set smaller, then taken apart into groups of parts, which
    follow one another.

    Args:
        excerpt: The music.
        style: Sizes and choices.
        labels: Labels of the boxes, in their order; boxes without one are drawn without a label.

    Returns:
        The systems, what was logged, and what a spoken description needs.

    Raises:
        EngravingError: The engraver drew nothing, or one part alone is too high with the smallest staves.
    """
    excerpt = with_long_rests(excerpt) if style.long_rests else excerpt
    engraving = _within_width(excerpt, style, labels)
    if not style.height_mm or _tallest(engraving) <= style.height_mm:
        return engraving
    smaller = _smaller(excerpt, engraving, labels)
    if _tallest(smaller) <= style.height_mm:
        return smaller
    return _grouped(excerpt, smaller, labels)


def _tallest(engraving: Engraving) -> float:
    return max((system.height_mm for system in engraving.systems), default=0.0)


def _within_width(excerpt: Excerpt, style: Style, labels: tuple[str, ...]) -> Engraving:
    """Engrave once more with less width where ink sticks out of the picture at a side."""
    engraving = engrave_as_told(excerpt, style, labels)
    left = right = 0.0
    for _ in range(_TRIES):
        past_left, past_right = _past(engraving)
        if max(past_left, past_right) <= _SLACK:
            return engraving
        left, right = left + past_left, right + past_right
        if left + right > _MOST_INSET * style.width_mm:
            break
        engraving = engrave_as_told(excerpt, replace(style, inset_mm=(left, right)), labels)
    past = max(_past(engraving))
    if past <= _SLACK:
        return engraving
    complaint = f"{_bars(engraving)}: something sticks out {past:.0f} mm beyond the end of the line"
    return replace(engraving, log=(*engraving.log, complaint))


def _past(engraving: Engraving) -> tuple[float, float]:
    """How far ink reaches past the left and the right end of the pictures, in millimetres."""
    past = [system.past_mm for system in engraving.systems]
    return max((left for left, _ in past), default=0.0), max((right for _, right in past), default=0.0)


def _smaller(excerpt: Excerpt, engraving: Engraving, labels: tuple[str, ...]) -> Engraving:
    """The same with staves so small that its systems fit, or with the smallest there are."""
    style = engraving.style
    for _ in range(_TRIES):
        if _tallest(engraving) <= style.height_mm or style.staff_mm <= SMALLEST_STAFF:
            break
        staff = style.staff_mm * style.height_mm / _tallest(engraving) * _SAFE
        style = replace(style, staff_mm=max(staff, SMALLEST_STAFF), inset_mm=(0.0, 0.0))
        engraving = _within_width(excerpt, style, labels)
    return engraving


def _grouped(excerpt: Excerpt, engraving: Engraving, labels: tuple[str, ...]) -> Engraving:
    """The parts in as few groups as fit, one group after the other, with the smallest staves.

    Raises:
        EngravingError: A part alone is too high.
    """
    style, parts = replace(engraving.style, inset_mm=(0.0, 0.0)), part_count(excerpt)
    count = ceil(_tallest(engraving) / style.height_mm)
    while count <= parts and parts > 1:
        groups = [_within_width(group, style, labels) for group in in_groups(excerpt, count)]
        if max(map(_tallest, groups)) <= style.height_mm:
            return _joined(engraving, groups)
        count += 1
    highest = max(engraving.systems, key=lambda system: system.height_mm)
    raise EngravingError(
        f"the line with {_bars(replace(engraving, systems=(highest,)))} is {highest.height_mm:.0f} mm high, and a page "
        f"has room for {style.height_mm:.0f} mm, even with the smallest staves ({SMALLEST_STAFF} mm).",
        where=excerpt.origin.where(),
        hint="Look at how much is written above and below these bars.",
    )


def _joined(engraving: Engraving, groups: Sequence[Engraving]) -> Engraving:
    systems = tuple(system for group in groups for system in group.systems)
    log = dict.fromkeys(line for one in (engraving, *groups) for line in one.log)
    missing = dict.fromkeys(one for group in groups for one in group.missing)
    return replace(engraving, systems=systems, log=tuple(log), missing=tuple(missing))


def _bars(engraving: Engraving) -> str:
    labels = [bar.label for system in engraving.systems for bar in system.bars if bar.label]
    if not labels:
        return "these bars"
    return f"bar {labels[0]}" if labels[0] == labels[-1] else f"bars {labels[0]} to {labels[-1]}"
