"""The lesson of one player: what came home, what the log says of it, and the next week that follows from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, get_args

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, posted, render
from excerpts.desk.lesson_parts import (
    add_rows,
    asked_lesson,
    conflict,
    record_values,
    written_record,
)
from excerpts.desk.lesson_week import Lesson, next_of_day
from excerpts.desk.made_week import MadeWeek
from excerpts.desk.makings import begin
from excerpts.desk.next_choices import TypedChoices, typed_choices
from excerpts.desk.record_form import difference
from excerpts.desk.saves import ChangedOutside
from excerpts.desk.typed_record import ReadRecord, read_record, read_typed
from excerpts.desk.week_print import print_week
from excerpts.log import LogRow, NextWeek
from excerpts.log.following_week import same_again, without_lesson
from excerpts.log.row import undo_row
from excerpts.teacher.lesson_sheet import lesson_sheet
from excerpts.weekfile.item_values import FaultName

SAID: Final = (
    *(
        f"desk.lesson.{name}"
        for name in (
            "written",
            "written_one",
            "written_none",
            "next_written",
            "right",
            "heard_now",
            "faults",
        )
    ),
    *(f"teacher.lesson.heard_{heard}" for heard in ("clean", "not")),
    "desk.lesson.heard_none",
    "desk.week.not_made",
    "desk.making.stop",
)
"""Messages that the page's script says."""


def _page(request: Request) -> Response:
    now = asked_lesson(request)
    words = now.state.words
    shown = now.state.saves.show(now.week.path, opened=True)
    return render(
        request,
        "lesson.html",
        title=words("desk.lesson.title", player=now.week.player.name),
        script="lesson",
        said=SAID,
        sheet=lesson_sheet(now.week, now.log, words),
        lesson=now,
        of_week=shown.digest,
        after=next_of_day(now.state, now.player),
        next_part=MadeWeek.of(now, now.log.rows, TypedChoices()).html(),
        causes=[words(f"fault.short.{name}") for name in get_args(FaultName)],
        **record_values(now),
    )


@dataclass(frozen=True, slots=True)
class _Sent:
    """What the page sent, read against what the log holds."""

    lesson: Lesson
    record: ReadRecord
    rows: tuple[LogRow, ...]
    made: MadeWeek
    open: dict[str, str]

    @classmethod
    def of(cls, request: Request) -> _Sent:
        """What a request sends; `open` is what is doubtful, and was not said to be right."""
        now, said = asked_lesson(request), posted(request)
        record = read_record(now.form, read_typed(said.get("record") or {}), now.state.words)
        gone, fresh = difference(now.form.rows, record.rows)
        left = list(now.log.rows)
        for row in gone:
            left.remove(row)
        made = MadeWeek.of(now, (*left, *fresh), typed_choices(said.get("choices") or {}))
        agreed = said.get("agreed")
        right = {str(one) for one in agreed} if isinstance(agreed, list) else set()
        doubts = {cell: doubt for cell, doubt in record.doubts.items() if f"{cell} {doubt}" not in right}
        return cls(now, record, (*map(undo_row, gone), *fresh), made, doubts)

    def told(self) -> dict[str, Any]:
        """What the page shows of it."""
        lines = {
            box: [
                {"day": line.day.isoformat() if line.day else "", "cells": line.cells, "other": line.other}
                for line in lines
            ]
            for box, lines in self.record.lines.items()
        }
        return {
            "faults": self.record.faults | self.made.faults,
            "doubts": self.record.doubts,
            "lines": lines,
            "next": self.made.html(),
            "rows": len(self.rows),
        }


def _look(request: Request) -> Response:
    """What would be written, and the proposals that follow from it."""
    return answer(_Sent.of(request).told())


def _write(request: Request) -> Response:
    """Write the rows into the log and, where it is asked for, the next week's file."""
    sent, said = _Sent.of(request), posted(request)
    now, made = sent.lesson, sent.made
    wanted = said.get("next") is True
    if sent.record.faults or sent.open or (wanted and made.week is None):
        return answer(sent.told() | {"error": now.state.words("desk.lesson.faults")}, 422)
    answered: dict[str, Any] = {}
    which, digest = "digest", str(said.get("digest", ""))
    try:
        if wanted and made.week is not None:
            _refuse_changed(now, made.week, digest)  # before the rows are written: all is written, or nothing
        which = "of_log"
        add_rows(now, sent.rows, str(said.get("of_log", "")))
        which = "digest"
        if wanted and made.week is not None:
            answered = _write_week(now, made.week, digest, "step_next")
    except ChangedOutside as error:
        return conflict(request, error, which)
    return answer(answered | written_record(request, len(sent.rows)))


def _refuse_changed(now: Lesson, made: NextWeek, digest: str) -> None:
    """See that a week file is as it was shown, or is already what it is to be.

    Raises:
        ChangedOutside: It is not.
    """
    data, shown = made.text.encode("utf-8"), now.state.saves.show(made.path)
    if shown.digest != digest and shown.data != data:
        raise ChangedOutside(made.path, data, shown.data)


def _write_week(now: Lesson, made: NextWeek, digest: str, step: str) -> dict[str, Any]:
    """Write a week file; the answer has its name, its digest and what was done."""
    data, shown = made.text.encode("utf-8"), now.state.saves.show(made.path)
    if shown.data == data:
        digest = shown.digest
    what = now.state.words(f"desk.lesson.{step}", player=now.week.player.name)
    saved = now.state.saves.save(made.path, digest, data, what=what)
    lines = [line.text.strip() for line in made.carried.told if line.message]
    return {"digest": saved, "file": made.path.name, "lines": lines}


def _again(request: Request) -> Response:
    """The same week again: its file is written, nothing is decided."""
    now, said = asked_lesson(request), posted(request)
    made = same_again(now.week, now.state.words)
    try:
        return answer(_write_week(now, made, str(said.get("digest", "")), "step_again"))
    except ChangedOutside as error:
        return conflict(request, error, "digest")


def _no_lesson(request: Request) -> Response:
    """No lesson: the week goes on."""
    now, said = asked_lesson(request), posted(request)
    made = without_lesson(now.week, now.state.words)
    try:
        return answer(_write_week(now, made, str(said.get("of_week", "")), "step_no_lesson"))
    except ChangedOutside as error:
        return conflict(request, error, "of_week")


def _printed(request: Request) -> Response:
    """Build the workbook of the week after, or of this one where none is written yet."""
    now = asked_lesson(request)
    path = now.next_file or now.week.path
    return begin(request, lambda making: print_week(now.state, path, making))


ROUTES: Final = [
    Route("/lesson/{key}", _page, methods=["GET"]),
    Route("/lesson/{key}/look", _look, methods=["POST"]),
    Route("/lesson/{key}/write", _write, methods=["POST"]),
    Route("/lesson/{key}/again", _again, methods=["POST"]),
    Route("/lesson/{key}/no-lesson", _no_lesson, methods=["POST"]),
    Route("/lesson/{key}/print", _printed, methods=["POST"]),
]
