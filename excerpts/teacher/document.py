"""The teacher's own pages as PDF."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

from excerpts.editions import Paper, edition
from excerpts.lefthand.work import WorkPassage
from excerpts.teacher.board import Board
from excerpts.teacher.chart import HEIGHT, WIDTH, charts
from excerpts.teacher.hard_bars import HardBars
from excerpts.teacher.lesson_sheet import LessonSheet
from excerpts.teacher.notes import notes
from excerpts.teacher.strip import legend_svg, strip_rows
from excerpts.teacher.tempos_reached import Progress
from excerpts.words import Words
from excerpts.workbook.page_names import LONGEST_FOCUS, LONGEST_NAME, shortened
from excerpts.workbook.pages import Picture
from excerpts.workbook.render import lay_out, write_pdf

if TYPE_CHECKING:
    from weasyprint import Document

_AIRS: Final = (("", 8.0), ("close", 7.0), ("close tight", 6.0))
"""How close all stands on a lesson sheet, with the height of a line to write on; the first that fits is taken."""

_MOST_RULES: Final = 12
_PX_MM: Final = 25.4 / 96


def lesson_pdf(sheet: LessonSheet, words: Words, paper: Paper = "a4") -> bytes:
    """A lesson sheet."""
    title = words("teacher.lesson.title", player=sheet.player)
    footer = words("teacher.lesson.footer", player=shortened(sheet.player, LONGEST_NAME), day=sheet.lesson)

    def laid_out(air: str, height: float, rules: int) -> Document:
        sizes = f".rule{{height:{height}mm}}"
        return _laid_out(
            "teacher_lesson.html", title, footer, words, paper, sizes, sheet=sheet, rules=rules, air=air
        )

    size = edition(paper)
    for air, height in _AIRS:
        document = laid_out(air, height, 1)
        if len(document.pages) == 1:
            end = document.pages[0].anchors["end"][1] * _PX_MM
            more = int((size.top + size.text_height - end) / height)
            document = laid_out(air, height, min(1 + more, _MOST_RULES)) if more > 0 else document
            break
    return write_pdf(document)


def board_pdf(board: Board, words: Words, paper: Paper = "a4") -> bytes:
    """The board of a studio."""
    return _pdf("teacher_board.html", board.title, board.title, words, paper, board=board)


def progress_pdf(progress: Progress, title: str, words: Words, paper: Paper = "a4") -> bytes:
    """A player's boxes over the weeks, drawn."""
    drawn = [_picture(chart.svg(), chart.alt) for chart in charts(progress, words)]
    footer = shortened(title, LONGEST_FOCUS)
    return _pdf("teacher_progress.html", title, footer, words, paper, charts=drawn)


def strip_pdf(hard: HardBars, chosen: Sequence[WorkPassage]) -> bytes:
    """The bars of a part by their work, drawn, and the passages with the most of it."""
    rows = [_picture(row.svg(), row.alt) for row in strip_rows(hard, chosen)]
    footer = shortened(hard.title, LONGEST_FOCUS)
    drawn = {"rows": rows, "legend": _legend(hard), "told": hard.told(chosen)}
    return _pdf("teacher_strip.html", hard.title, footer, hard.words, "a4", **drawn)


def _legend(hard: HardBars) -> Picture:
    return _picture(legend_svg(hard), hard.words("hard.caption"))


def _picture(svg: str, alt: str) -> Picture:
    return Picture("data:image/svg+xml," + quote(svg), WIDTH, HEIGHT, alt)


def notes_pdf(words: Words, paper: Paper = "a4") -> bytes:
    """The notes for teachers."""
    content = notes(words)
    return _pdf("teacher_notes.html", content.title, content.title, words, paper, notes=content)


def _pdf(template: str, title: str, footer: str, words: Words, paper: Paper, **values: object) -> bytes:
    return write_pdf(_laid_out(template, title, footer, words, paper, "", **values))


def _laid_out(
    template: str, title: str, footer: str, words: Words, paper: Paper, sizes: str, **values: object
) -> Document:
    return lay_out(
        template,
        images={},
        styles=("page.css", "teacher.css"),
        page_rules=edition(paper).page_rules + sizes,
        title=title,
        author=words("workbook.author"),
        footer=footer,
        language=words.tag,
        t=words,
        **values,
    )
