"""Excerpts as pages: what `cut` and `warmup` write to .svg and .pdf."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from excerpts.cli.look import Look
from excerpts.engrave import Engraving, Missing, engrave, stack_svg
from excerpts.notes.in_force import tempo_at_box
from excerpts.variants import instruction, parse_variant, title
from excerpts.warmups import warmup_line
from excerpts.warmups.heard_key import drone_named
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.workbook import build_sheet
from excerpts.workbook.music_names import SpokenNames

if TYPE_CHECKING:
    from excerpts.excerpt import Excerpt
    from excerpts.words import Words

Block = tuple[str, str, Engraving]
"""Heading, the grey line under it, and the music."""


class Drawn(NamedTuple):
    """Excerpts as a file.

    Attributes:
        data: The bytes of the file.
        missing: What of each excerpt has no ink.
    """

    data: bytes
    missing: tuple[tuple[Missing, ...], ...]


def say_missing(where: str, missing: Iterable[Missing]) -> None:
    """Tell on the error stream what is not printed of the music of a score."""
    for one in dict.fromkeys(missing):
        print(f"excerpts: {where}: {one}", file=sys.stderr)  # noqa: T201


def passages_as_svg(made: Sequence[Excerpt], look: Look) -> Drawn:
    """Passages stacked in one SVG file, a heading over each."""
    return _stacked(_passages(made, replace(look, paged=False)))


def passages_as_pdf(made: Sequence[Excerpt], look: Look) -> Drawn:
    """Passages on as few pages as they take."""
    blocks = _passages(made, look)
    data = build_sheet(blocks, paper=look.paper, title=_named(made[0]), words=look.words)
    return Drawn(data, _missing(blocks))


def _stacked(blocks: Sequence[Block]) -> Drawn:
    data = stack_svg([music for _, _, music in blocks], headings=[heading for heading, _, _ in blocks])
    return Drawn(data, _missing(blocks))


def _missing(blocks: Sequence[tuple[str, str, Engraving | None]]) -> tuple[tuple[Missing, ...], ...]:
    return tuple(() if music is None else music.missing for _, _, music in blocks)


def variants_as_pdf(made: Sequence[Excerpt], look: Look) -> Drawn:
    """Variants of one passage: what each is, how it is typed, and what the player reads."""
    blocks: list[tuple[str, str, Engraving | None]] = []
    for excerpt in made:
        variant = excerpt.origin.variant
        named, typed = title(variant, look.words), f"{variant} · {_told(excerpt, look.words)}"
        if all(step.variant.info.spoken for step in parse_variant(variant)):
            blocks.append((named, typed, None))
            continue
        ((heading, line, music),) = _passages([excerpt], look)
        blocks.append((heading, line, music) if variant == "as-written" else (named, typed, music))
    data = build_sheet(blocks, paper=look.paper, title=_named(made[0]), words=look.words)
    return Drawn(data, _missing(blocks))


def _told(excerpt: Excerpt, words: Words) -> str:
    """What to do in the variant of a passage; a drone is named by its note."""
    variant = excerpt.origin.variant
    return drone_named(instruction(variant, words), variant, excerpt, words)


def _named(excerpt: Excerpt) -> str:
    origin = excerpt.origin
    return ", ".join(part for part in (origin.title or Path(origin.score).stem, origin.composer) if part)


def warmups_as_svg(made: Sequence[Excerpt], look: Look) -> Drawn:
    """Warm-ups stacked in one SVG file, a heading over each."""
    return _stacked(_warmups(made, replace(look, paged=False)))


def warmups_as_pdf(made: Sequence[Excerpt], look: Look) -> Drawn:
    """Warm-ups on as few pages as they take."""
    named = look.words("sheet.warmups")
    blocks = _warmups(made, look)
    data = build_sheet(blocks, paper=look.paper, title=named, words=look.words, copied=False)
    return Drawn(data, _missing(blocks))


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
            line = _told(excerpt, words)
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
        blocks.append((heading, line, engrave(excerpt, look.style(draw_box=False, grey_context=False))))
    return blocks
