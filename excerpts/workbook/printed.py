"""What a page needs of engraved music: its pictures, and what a spoken description says; no geometry."""

from __future__ import annotations

from dataclasses import dataclass

from excerpts.engrave import Engraving, Missing, Spoken, Style, engrave
from excerpts.excerpt import Excerpt


@dataclass(frozen=True, slots=True)
class PrintedSystem:
    """One system of music: its flat SVG, its size, and how far ink reaches past its sides, in millimetres."""

    svg: str
    width_mm: float
    height_mm: float
    past_left_mm: float = 0.0
    past_right_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Printed:
    """Engraved music as pages print it.

    Attributes:
        systems: The systems, top to bottom.
        spoken: What a spoken description of the picture says.
        log: What the engraver complained of.
        missing: What should be printed and has no ink.
    """

    systems: tuple[PrintedSystem, ...]
    spoken: Spoken
    log: tuple[str, ...]
    missing: tuple[Missing, ...] = ()


def printed(excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
    """Engrave an excerpt.

    Args:
        excerpt: The music.
        style: Sizes and choices.
        labels: Labels of the boxes.

    Raises:
        EngravingError: The engraver drew nothing.
    """
    return as_printed(engrave(excerpt, style, labels))


def as_printed(engraving: Engraving) -> Printed:
    """What a page needs of an engraving."""
    systems = tuple(
        PrintedSystem(one.svg, one.width_mm, one.height_mm, *one.past_mm) for one in engraving.systems
    )
    return Printed(systems, engraving.spoken, engraving.log, engraving.missing)
