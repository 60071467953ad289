"""What pages need of engraved music, and what of it was made before: variants, engraved music."""

from __future__ import annotations

from dataclasses import dataclass

from excerpts.engrave import Engraving, Missing, Spoken, Style, engrave
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.variants import vary
from excerpts.variants.passage import where
from excerpts.week.orders import Guard
from excerpts.words import Words


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


class RenderCache(Guard):
    """Makes everything itself and knows only what it made for the same workbook; a studio's knows more."""

    def __init__(self) -> None:
        super().__init__()
        self._varied: dict[tuple[Excerpt, str, str], Excerpt | VariantError] = {}

    def printed(self, excerpt: Excerpt, style: Style, labels: tuple[str, ...] = ()) -> Printed:
        """Engraved music.

        Args:
            excerpt: The music.
            style: Sizes and choices.
            labels: Labels of the boxes.
        """
        return printed(excerpt, style, labels)

    def varied(self, excerpt: Excerpt, name: str, words: Words) -> Excerpt:
        """A variant of an excerpt: made once, though it is first tried whether it fits.

        Args:
            excerpt: The excerpt.
            name: The variant.
            words: For what is written over the notes.

        Raises:
            VariantError: It does not fit.
        """
        key = (excerpt, name, words.choice)
        if key not in self._varied:
            try:
                self._varied[key] = self.guarded(
                    name, where(excerpt), lambda: self.vary(excerpt, name, words)
                )
            except VariantError as refusal:
                self._varied[key] = refusal
        made = self._varied[key]
        if isinstance(made, VariantError):
            raise made
        return made

    def vary(self, excerpt: Excerpt, name: str, words: Words) -> Excerpt:
        """Make a variant."""
        return vary(excerpt, name, words=words)
