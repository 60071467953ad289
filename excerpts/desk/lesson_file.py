"""A file of rows that a player sent: shown, then taken. Twice without doubling."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, uploaded
from excerpts.desk.lesson_parts import add_rows, asked_lesson, box_heads, conflict, fragment, written_record
from excerpts.desk.lesson_week import Lesson
from excerpts.desk.saves import ChangedOutside
from excerpts.log import LogRow, SentRows, preview
from excerpts.log.row import row_digest
from excerpts.weekfile.tempo_text import tempo_text
from excerpts.workbook.page_texts import Dates, PageTexts

_LONGEST_NAME: Final = 200


def _read(request: Request, now: Lesson) -> SentRows:
    name = request.query_params.get("name", "")[:_LONGEST_NAME] or "file"
    return preview(uploaded(request), name, now.week, now.log)


def _show(request: Request) -> Response:
    """What the file would add; nothing is written."""
    now = asked_lesson(request)
    made = _read(request, now)
    rows = [(row, "") for row in made.fresh] + list(made.asked)
    cells = _Cells(now)
    html = fragment(
        now.state.words,
        "lesson_sent.html",
        rows=[{"key": row_digest(row), "cells": cells.of(row), "question": asked} for row, asked in rows],
        known=made.known,
        faults=[str(fault) for fault in made.faults],
    )
    return answer({"html": html, "new": len(rows)})


class _Cells:
    """Says rows as the cells of a table: day, what, tempo, runs, where it broke down, what was noticed."""

    def __init__(self, now: Lesson) -> None:
        self.words = now.state.words
        self.dates = Dates(PageTexts(self.words))
        self.names = {piece.id: piece.title for piece in now.week.pieces}
        self.names |= {name: head["title"] for name, head in box_heads(now).items()}

    def of(self, row: LogRow) -> tuple[str, ...]:
        """The cells of a row."""
        kind = self.words(f"desk.lesson.kind_{row.kind.replace('-', '_')}")
        name = self.names.get(row.box, row.box)
        runs = "" if row.clean is None else str(row.clean)
        if row.kind == "heard":
            runs = self.words(f"teacher.lesson.heard_{'clean' if row.heard_clean else 'not'}")
        return (
            self.dates.line(row.date) if row.date else "",
            ", ".join(filter(None, (kind, name))),
            tempo_text(row.tempo, self.words) if row.tempo else "",
            runs,
            row.bars,
            "" if row.kind == "undo" else row.note,
        )


def _take(request: Request) -> Response:
    """Add the rows of a file to the log as it is now: what is there already is not added again."""
    now = asked_lesson(request)
    made = _read(request, now)
    agreed = set(request.query_params.get("agreed", "").split(","))
    rows = (*made.fresh, *(row for row, _ in made.asked if row_digest(row) in agreed))
    try:
        add_rows(now, rows, now.shown.digest)
    except ChangedOutside as error:
        return conflict(request, error, "of_log")
    return answer(written_record(request, len(rows)))


ROUTES: Final = [
    Route("/lesson/{key}/sent/upload", _show, methods=["POST"]),
    Route("/lesson/{key}/take/upload", _take, methods=["POST"]),
]
