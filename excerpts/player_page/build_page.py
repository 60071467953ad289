"""Builds the player's page of a week: the models of the workbook, what its script needs, one sealed file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from markupsafe import Markup

from excerpts.editions import edition
from excerpts.engrave import Style
from excerpts.musicxml.format import SOFTWARE
from excerpts.player_page.page_boxes import box_data, page_boxes
from excerpts.player_page.page_data import page_data
from excerpts.player_page.page_days import day_data, page_days
from excerpts.player_page.pictures import InlinePictures
from excerpts.player_page.sealed import FOLDER, as_data, policy, script, style
from excerpts.week import Week
from excerpts.week.measured import week_music
from excerpts.week.orders.check import orders_told
from excerpts.week.plan import plan_week
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.words import Words
from excerpts.workbook.build import page_models
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.reader import reader
from excerpts.workbook.render import filled_in
from excerpts.workbook.render_cache import RenderCache
from excerpts.workbook.workbook_music import Music

_LARGE_MM: Final = 7.5
_STAFF_MM: Final = 5.5
"""Height of the staves on a line of 72 mm, which fills the width of a telephone; for large print and for others."""


@dataclass(frozen=True, slots=True)
class BuiltPage:
    """A finished page.

    Attributes:
        html: The file.
        warnings: What the teacher should know, in words.
        told: What was left out of it, or is worth another look, with file and line.
    """

    html: bytes
    warnings: tuple[str, ...] = ()
    told: tuple[Fault, ...] = ()


def build_page(week: Week, *, a: int = 440, memory: RenderCache | None = None) -> BuiltPage:
    """Build the page of a week.

    Args:
        week: The week.
        a: Hertz of A4 in what is played.
        memory: Knows what was made before.

    Raises:
        WeekFaultsError: A score, part or bar is not there, or a warm-up cannot be made; all such faults are told.
    """
    size = edition("phone")
    player = week.player
    staff = _LARGE_MM if player.print == "large" else _STAFF_MM
    kind = replace(reader(player.level, player.age), staff_mm=staff)
    texts = PageTexts(Words(player.words), kind.child)
    plain = replace(Style.on(size), staff_mm=staff, upright=player.print == "large")
    music = Music(week, Names(week, texts), plain, memory)
    pictures = InlinePictures(texts.words, size.text_width)
    music.pictures = pictures
    checked = orders_told(week, music.orders)
    if checked.faults:
        raise WeekFaultsError(checked.faults)
    measured = week_music(week)
    plan = plan_week(week, measured)
    book = page_models(week, plan, kind, texts, music, None, None, measured.boxes)
    days = page_days(week, plan, book.first.tables, texts, kind.child)
    boxes = page_boxes(week, plan, music.orders, texts.words)
    data = page_data(week, kind, texts, a) | {
        "days": day_data(days, [box.id for box in week.boxes]),
        "boxes": box_data(week, music.names, boxes, kind.circles),
    }
    html = _filled(
        pictures.has_paper,
        book=book,
        days=days,
        boxes=boxes,
        draw=pictures.inline,
        reader=kind,
        player=player,
        slip=week.plan.slip,
        data=data,
        t=texts,
    )
    warnings = (*week.remarks, *music.missing, *music.remarks)
    return BuiltPage(html.encode(), warnings, checked.told)


def _filled(pictures: bool, *, data: dict[str, Any], t: PageTexts, **values: Any) -> str:
    """The template with its values, its style, its script and the policy that allows them and nothing else.

    Args:
        pictures: It holds pictures of printed pages.
        data: What the script is given.
        t: The words of the pages.
        values: What else the template needs.
    """
    return filled_in(
        f"{FOLDER}/page.html",
        has_stage=bool(data["concerts"]),
        t=t,
        w=t.words,
        software=SOFTWARE,
        policy=policy(script=script(), style=style(), pictures=pictures),
        script=Markup(script()),
        style=Markup(style()),
        data=as_data(data),
        **values,
    )
