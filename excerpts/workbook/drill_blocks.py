"""The drills on a box, in notes, for the technique section."""

from __future__ import annotations

from dataclasses import replace

from excerpts.errors import VariantError
from excerpts.week import Week
from excerpts.week.orders import DrillOrders
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.pages import MusicBlock
from excerpts.workbook.workbook_music import Music


def drill_blocks(week: Week, orders: DrillOrders, texts: PageTexts, music: Music) -> list[MusicBlock]:
    """Engrave the drills that a box gives; none where it gives none, which is told on the console.

    Args:
        week: The week.
        orders: What the technique item that asks for a drill has made.
        texts: The words of the pages.
        music: Engraves.
    """
    number = [other.id for other in week.boxes].index(orders.box.box.id) + 1
    try:
        drills = orders.drills.made()
    except VariantError:
        return []
    blocks = []
    for drill in drills:
        head = texts.words(f"drill.{drill.kind}.title", number=number)
        told = texts.words(f"drill.{drill.kind}.line", bar=drill.bar)
        if drill.assumed:
            told = f"{told} {texts.words('drill.assumed')}"
        engraving = music.engrave(drill.music, replace(music.plain, bar_numbers="none"))
        blocks.append(MusicBlock(head, told, music.pictures.of(engraving, head)))
    return blocks
