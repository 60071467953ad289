"""Builds a workbook: week, plan and music become page models, the page models a PDF."""

from __future__ import annotations

import logging
from dataclasses import dataclass, field, replace
from datetime import date
from time import perf_counter
from typing import Any

from excerpts.week import Plan, Week, plan_week
from excerpts.week.studio import Paper
from excerpts.words import Words
from excerpts.workbook.box_pages import BoxPages
from excerpts.workbook.dates import Dates
from excerpts.workbook.first_page import FirstPage
from excerpts.workbook.fit import Layout, fit
from excerpts.workbook.music import Music, Scores
from excerpts.workbook.names import LONGEST_FOCUS, LONGEST_NAME, Names, shortened
from excerpts.workbook.pages import Workbook
from excerpts.workbook.reader import Reader, reader
from excerpts.workbook.render import lay_out, write_pdf
from excerpts.workbook.sections import Sections
from excerpts.workbook.texts import PageTexts

_LOGGER = logging.getLogger("excerpts")

BOTTOM_MM: dict[Paper, float] = {"a4": 280.0, "letter": 263.4}
"""How far down a page its text may go: the paper's height less the margin in its style sheet."""


@dataclass(frozen=True, slots=True)
class Built:
    """A finished workbook.

    Attributes:
        pdf: The file.
        pages: How many pages it has.
        warnings: What the teacher should know, in words.
        timings: Seconds for the engraving (verovio and our own drawing), for WeasyPrint, and for all the rest.
    """

    pdf: bytes
    pages: int
    warnings: tuple[str, ...] = ()
    timings: dict[str, float] = field(default_factory=dict)


def build_workbook(
    week: Week, *, paper: Paper | None = None, today: date | None = None, scores: Scores | None = None
) -> Built:
    """Build the workbook of a week.

    Args:
        week: The week.
        paper: "a4" or "letter"; the week's own where it is left out.
        today: A day to mark in the plan, and to count from.
        scores: Scores that are open already: a studio gives the same to all its workbooks.

    Raises:
        InputError: A score, part or bar is not there, or a warm-up cannot be made.
    """
    start = perf_counter()
    player = week.player
    kind = reader(player.level, player.age, week.staff_mm)
    texts = PageTexts(Words(player.words), kind.child)
    music = Music(week, Names(week, texts), kind.staff_mm, scores or Scores())
    book = page_models(week, plan_week(week), kind, texts, music, today)
    modelled = perf_counter()
    chosen: Paper = paper or week.paper
    images: dict[str, Any] = dict(music.pictures.images)

    def layout(models: Workbook) -> Layout:
        return lambda room: lay_out(
            "workbook.html", images=images, book=models, reader=kind, t=texts, paper=chosen, room=room
        )

    first = None if kind.child else layout(_first_only(book))
    document = fit(first, layout(book), BOTTOM_MM[chosen])
    pdf = write_pdf(document)
    done = perf_counter()
    pages = len(document.pages)
    return Built(
        pdf=pdf,
        pages=pages,
        warnings=_warnings(week, kind, texts, pages, music),
        timings={
            "engraving": music.seconds,
            "weasyprint": done - modelled,
            "own": modelled - start - music.seconds,
        },
    )


def page_models(
    week: Week, plan: Plan, kind: Reader, texts: PageTexts, music: Music, today: date | None = None
) -> Workbook:
    """Everything that the workbook prints, as plain values."""
    sections = Sections(week, plan, texts, music)
    boxes = BoxPages(week, plan, kind, texts, music).build()
    first = FirstPage(week, plan, kind, texts, today).build(boxes, sections.warmup_names())
    day = Dates(texts).day(week.week.start)
    return Workbook(
        title=texts("title", player=week.player.name, date=Dates(texts).full(week.week.start)),
        author=texts("author"),
        language="en-US" if week.player.words == "us" else "en-GB",
        footer=texts("footer", player=shortened(week.player.name, LONGEST_NAME), date=day),
        focus=shortened(week.week.focus or "", LONGEST_FOCUS),
        copying=week.studio.settings.copying or texts("copying"),
        first=first,
        warmups=sections.warmups(),
        warmup_texts=sections.warmup_texts(),
        studies=sections.studies(),
        technique_texts=sections.technique_texts(),
        boxes=boxes,
        pieces=sections.pieces(),
    )


def _first_only(book: Workbook) -> Workbook:
    return replace(book, warmups=(), warmup_texts=(), studies=(), technique_texts=(), boxes=(), pieces=())


def _warnings(week: Week, kind: Reader, texts: PageTexts, pages: int, music: Music) -> tuple[str, ...]:
    for line in dict.fromkeys(music.log):
        _LOGGER.info("engraver, %s: %s", week.player.name, line)
    told = []
    if pages > kind.most_pages:
        told.append(texts("budget.passed", player=week.player.name, pages=pages, most=kind.most_pages))
    return tuple(told)
