"""The drills on a box, in notes, for the technique section."""

from __future__ import annotations

from dataclasses import replace

from excerpts.instruments import instrument
from excerpts.technique import drills
from excerpts.week import TechniqueItem, Week
from excerpts.workbook.music import Music
from excerpts.workbook.pages import MusicBlock
from excerpts.workbook.texts import PageTexts

MOST = 2
"""Drills that are printed for one box, at most."""


def drill_blocks(week: Week, item: TechniqueItem, texts: PageTexts, music: Music) -> list[MusicBlock]:
    """Make the drills that a box gives, those against its faults first; none for a box on paper only.

    Args:
        week: The week.
        item: The technique item that asks for a drill.
        texts: The words of the pages.
        music: Cuts and engraves.
    """
    box = week.box(item.drill or "")
    number = [other.id for other in week.boxes].index(box.id) + 1
    excerpt = music.box(box)
    if excerpt is None:
        return []
    blocks = []
    for drill in drills(excerpt, instrument(week.player.instrument), box.why, MOST):
        head = texts.words(f"drill.{drill.kind}.title", number=number)
        told = texts.words(f"drill.{drill.kind}.line", bar=drill.bar)
        if drill.assumed:
            told = f"{told} {texts.words('drill.assumed')}"
        engraving = music.engrave(drill.music, replace(music.plain, bar_numbers="none"))
        blocks.append(MusicBlock(head, told, music.pictures.of(engraving, head)))
    return blocks
