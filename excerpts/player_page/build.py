"""Builds the player's page of a week: the models of the workbook, what its script needs, one sealed file."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any, Final

from markupsafe import Markup

from excerpts.editions import edition
from excerpts.engrave import Style
from excerpts.excerpt import Excerpt
from excerpts.musicxml.format import SOFTWARE
from excerpts.player_page.bar_texts import BarText, bar_texts
from excerpts.player_page.page_days import concerts, day_data, page_days
from excerpts.player_page.pictures import InlinePictures
from excerpts.player_page.sealed import FOLDER, as_data, policy, script, style
from excerpts.player_page.step_sound import drone, steps
from excerpts.score.compressed import packed
from excerpts.system.studio_files import player_key
from excerpts.variants.tempo_steps import METRONOME_NUMBERS
from excerpts.week import Week
from excerpts.week.box_tempos import box_tempos
from excerpts.week.measured import week_music
from excerpts.week.orders.check import orders_told
from excerpts.week.plan import Plan, plan_week
from excerpts.weekfile.faults import Fault, WeekFaultsError
from excerpts.weekfile.items import BoxItem
from excerpts.words import Words
from excerpts.workbook.build import page_models
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import Dates, PageTexts
from excerpts.workbook.reader import Reader, reader
from excerpts.workbook.render import filled_in
from excerpts.workbook.render_cache import RenderCache
from excerpts.workbook.workbook_music import Music

_LARGE_MM: Final = 7.5
_STAFF_MM: Final = 5.5
"""Height of the staves on a line of 72 mm, which fills the width of a telephone; for large print and for others."""

_STEPS_UP: Final = 3
"""Steps up that one day of a box may have; for those whose tempos rise with care it is one, as on paper."""


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


@dataclass(frozen=True, slots=True)
class PageBox:
    """What a box has on the page besides what the workbook prints.

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
    boxes = tuple(_box(week, plan, place, music) for place in range(len(week.boxes)))
    data = _data(week, kind, texts, boxes, a) | {"days": day_data(days, [box.id for box in week.boxes])}
    html = filled_in(
        f"{FOLDER}/page.html",
        book=book,
        days=days,
        boxes=boxes,
        draw=pictures.inline,
        reader=kind,
        large=player.print == "large",
        tint=player.tint or "",
        has_stage=not kind.child and bool(data["concerts"]),
        t=texts,
        w=texts.words,
        slip=week.plan.slip,
        software=SOFTWARE,
        policy=policy(script=script(), style=style(), pictures=pictures.has_paper),
        script=Markup(script()),
        style=Markup(style()),
        data=as_data(data),
    )
    warnings = (*week.remarks, *music.missing, *music.remarks)
    return BuiltPage(html.encode(), warnings, checked.told)


def _box(week: Week, plan: Plan, place: int, music: Music) -> PageBox:
    box = week.boxes[place]
    excerpt = music.orders.boxes[place].music.made()
    words = music.names.words
    upper = box.piece is not None and week.piece(box.piece).trills == "upper"
    made = steps(excerpt, _tempos(box, week, plan), words, upper_trills=upper)
    bars = bar_texts(excerpt, words) if excerpt else ()
    return PageBox(tuple(made), drone(excerpt), bars, _file(excerpt))


def _tempos(box: BoxItem, week: Week, plan: Plan) -> tuple[Any, ...]:
    return box_tempos(box, week, len(plan.days_of(box=box.id)))


def _file(music: Excerpt | None) -> str:
    if music is None:
        return ""
    return f"data:application/vnd.recordare.musicxml;base64,{b64encode(packed(music.xml)).decode()}"


def _data(week: Week, kind: Reader, texts: PageTexts, boxes: tuple[PageBox, ...], a: int) -> dict[str, Any]:
    """What the script needs, but for the days."""
    words = texts.words
    names = Names(week, texts)
    dates = Dates(texts)
    own = zip(week.boxes, boxes, strict=True)
    return {
        "key": sha256(player_key(week.player.name).encode()).hexdigest()[:12],
        "week": week.week.start.isoformat(),
        "last": week.week.last.isoformat(),
        "player": week.player.name,
        "child": kind.child,
        "record": week.records and not kind.child,
        "lang": words.tag,
        "slip": week.plan.slip,
        "a": a,
        "mostUp": 1 if week.careful else _STEPS_UP,
        "below": 0 if week.careful else 1,
        "breakAfter": week.plan.break_after,
        "breakMinutes": week.plan.break_minutes,
        "boxes": [
            {
                "id": box.id,
                "number": number,
                "title": names.box(box),
                "wanted": week.clean_runs(box),
                "circles": kind.circles,
                "steps": made.steps,
                "drone": made.drone,
            }
            for number, (box, made) in enumerate(own, start=1)
        ],
        "concerts": [] if kind.child else list(concerts(week, texts)),
        "pieces": [{"piece": piece.id, "title": piece.title} for piece in week.pieces],
        "dates": {day.isoformat(): dates.weekday(day) for day in week.week.dates},
        "numbers": METRONOME_NUMBERS,
        "script": words.table("page.script")
        | {
            "rule": words("plan.clean_run.text"),
            f"slip_{week.plan.slip}": words(f"plan.slip.{week.plan.slip}"),
            "hurts_text": " ".join(words(f"caution.pain.{part}") for part in ("head", "text")),
        },
    }
