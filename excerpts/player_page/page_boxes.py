"""The boxes of a page: what they have there besides what the workbook prints."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from excerpts.excerpt import Excerpt
from excerpts.player_page.bar_texts import BarText, bar_texts
from excerpts.player_page.step_sound import drone, steps
from excerpts.score.container import packed
from excerpts.week import Week
from excerpts.week.box_tempos import box_tempos
from excerpts.week.orders import Orders
from excerpts.week.plan import Plan
from excerpts.words import Words
from excerpts.workbook.page_names import Names


@dataclass(frozen=True, slots=True)
class PageBox:
    """What a box has on the page.

    Attributes:
        steps: Its tempo steps, with their sound.
        drone: MIDI number of its tonic; None where there is no key.
        bars: Its bars in words.
        file: Its music as a compressed MusicXML file in an address; empty where it has none.
    """

    steps: tuple[dict[str, Any], ...]
    drone: int | None
    bars: tuple[BarText, ...]
    file: str


def page_boxes(week: Week, plan: Plan, orders: Orders, words: Words) -> tuple[PageBox, ...]:
    """The boxes of a week, in its order.

    Args:
        week: The week.
        plan: Its plan.
        orders: Its music.
        words: Texts of the player.
    """
    made = []
    for box, own in zip(week.boxes, orders.boxes, strict=True):
        music = own.music.made()
        tempos = box_tempos(box, week, len(plan.days_of(box=box.id)))
        upper = box.piece is not None and week.piece(box.piece).trills == "upper"
        sounding = steps(music, tempos, words, upper_trills=upper)
        bars = bar_texts(music, words) if music else ()
        made.append(PageBox(tuple(sounding), drone(music), bars, _file(music)))
    return tuple(made)


def _file(music: Excerpt | None) -> str:
    if music is None:
        return ""
    return f"data:application/vnd.recordare.musicxml;base64,{b64encode(packed(music.xml)).decode()}"


def box_data(week: Week, names: Names, boxes: Sequence[PageBox], circles: bool) -> list[dict[str, Any]]:
    """The boxes as the script needs them.

    Args:
        week: The week.
        names: Names of its boxes.
        boxes: Its boxes on the page.
        circles: Clean runs are counted by circles.
    """
    return [
        {
            "id": box.id,
            "number": number,
            "title": names.box(box),
            "wanted": week.clean_runs(box),
            "circles": circles,
            "steps": made.steps,
            "drone": made.drone,
        }
        for number, (box, made) in enumerate(zip(week.boxes, boxes, strict=True), start=1)
    ]
