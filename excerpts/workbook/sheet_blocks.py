"""Excerpts as pages: what `cut` and `warmup` write to .svg and .pdf."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from excerpts.engrave import Engraving, Missing, engrave
from excerpts.notes.in_force import tempo_at_box
from excerpts.variants import instruction, parse_variant, title
from excerpts.warmups import warmup_line
from excerpts.warmups.heard_key import drone_named
from excerpts.week.orders.boxes import spoken
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.workbook.look import Look
from excerpts.workbook.music_names import SpokenNames

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt
    from excerpts.words import Words
    from excerpts.workbook.paper_image import DrawnPaper

Block = tuple[str, str, Engraving | None]
"""Heading, the grey line under it, and the music; None for words alone."""


class Sheet(NamedTuple):
    """Music to be drawn.

    Attributes:
        blocks: What stands on it, in order.
        title: Its title.
        look: Its paper and words.
        copied: The music is cut out of scores, so that a word on copying stands under it.
        pages: Printed pages with boxes drawn in, each with its heading; for a PDF only.
    """

    blocks: Sequence[Block]
    title: str
    look: Look
    copied: bool = True
    pages: Sequence[tuple[str, DrawnPaper]] = ()

    @property
    def missing(self) -> tuple[tuple[Missing, ...], ...]:
        """What of each block has no ink."""
        return tuple(() if music is None else music.missing for _, _, music in self.blocks)


def passages(made: Sequence[Excerpt], look: Look) -> Sheet:
    """Passages, a heading over each."""
    return Sheet(_passages(made, look), _title(made[0]), look)


def variants(made: Sequence[Excerpt], look: Look) -> Sheet:
    """Variants of one passage: what each is, how it is typed, and what the player reads."""
    blocks: list[Block] = []
    for excerpt in made:
        variant = excerpt.origin.variant
        name, typed = title(variant, look.words), f"{variant} · {_instruction(excerpt, look.words)}"
        if spoken(variant):
            blocks.append((name, typed, None))
            continue
        ((heading, line, music),) = _passages([excerpt], look)
        blocks.append((heading, line, music) if variant == "as-written" else (name, typed, music))
    return Sheet(blocks, _title(made[0]), look)


def warmups(made: Sequence[Excerpt], look: Look) -> Sheet:
    """Warm-ups, a heading over each."""
    return Sheet(_warmups(made, look), look.words("sheet.warmups"), look, copied=False)


def _instruction(excerpt: Excerpt, words: Words) -> str:
    """What to do in the variant of a passage; a drone is named by its note."""
    variant = excerpt.origin.variant
    return drone_named(instruction(variant, words), variant, excerpt, words)


def _title(excerpt: Excerpt) -> str:
    origin = excerpt.origin
    return ", ".join(part for part in (origin.title or Path(origin.score).stem, origin.composer) if part)


def _passages(made: Sequence[Excerpt], look: Look) -> list[Block]:
    words = look.words
    spoken = SpokenNames(words)
    blocks: list[Block] = []
    numbers: dict[str, int] = {}
    for excerpt in made:
        origin = excerpt.origin
        number = numbers.setdefault(origin.address, len(numbers) + 1)
        music = engrave(excerpt, look.style(draw_box=_as_cut(origin.variant)), (str(number),))
        bars = spoken.place(music.spoken, origin.address)
        heading = ", ".join(part for part in (origin.title or Path(origin.score).stem, bars) if part)
        tempo = tempo_at_box(excerpt)
        line = " · ".join(
            part
            for part in (
                origin.part,
                spoken.metre(music.spoken),
                spoken.key(music.spoken),
                tempo_text(tempo, words) if tempo else "",
            )
            if part
        )
        if origin.variant:
            heading = f"{heading}: {title(origin.variant, words)}"
            line = _instruction(excerpt, words)
            if tempo and any(step.variant.info.kind == "tempo" for step in parse_variant(origin.variant)):
                line = f"{tempo_text(tempo, words)} · {line}"
        blocks.append((heading, line, music))
    return blocks


def _as_cut(variant: str) -> bool:
    """Whether the passage stands among its context bars: it does unless a variant changed its notes."""
    return not variant or all(step.variant.info.same_notes for step in parse_variant(variant))


def _warmups(made: Sequence[Excerpt], look: Look) -> list[Block]:
    words = look.words
    blocks: list[Block] = []
    usual = words("sheet.as_printed")
    for excerpt in made:
        variant = excerpt.origin.variant
        heading = f"{excerpt.origin.title}: {title(variant, words)}" if variant else excerpt.origin.title
        own = warmup_line(excerpt)
        line = f"{instruction(variant, words)} {own}".strip() if variant else own or usual
        if line == usual:
            usual = ""  # said once on a sheet
        blocks.append(
            (
                heading,
                line,
                engrave(excerpt, look.style(draw_box=False, grey_context=False, bar_numbers="none")),
            )
        )
    return blocks
