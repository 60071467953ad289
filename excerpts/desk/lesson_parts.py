"""What the routes of a lesson share: the lesson that is meant, its records as a part of the page, a conflict."""

from __future__ import annotations

from datetime import date
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from excerpts.desk.frame import answer, environment, state_of
from excerpts.desk.lesson_week import Lesson, lesson
from excerpts.desk.saves import ChangedOutside
from excerpts.log import LogRow
from excerpts.teacher.lesson_sheet import lesson_sheet
from excerpts.week.bars_in_words import box_name
from excerpts.weekfile.tempo_text import beat_name, number_text
from excerpts.words import Words
from excerpts.workbook.page_texts import Dates, PageTexts


def asked_lesson(request: Request) -> Lesson:
    """The lesson that a request is about."""
    key, asked = request.path_params["key"], request.query_params.get("week", "")
    return lesson(state_of(request), key, asked, date.today())


def fragment(words: Words, template: str, **values: Any) -> str:
    """A part of the page, in the studio's words."""
    return environment().get_template(template).render(t=words, **values)


def record_values(now: Lesson) -> dict[str, Any]:
    """What the template of the records needs."""
    words = now.state.words
    return {
        "form": now.form,
        "heads": box_heads(now),
        "dates": Dates(PageTexts(words)),
        "number": number_text,
        "beat": lambda unit: beat_name(unit, words),
    }


def box_heads(now: Lesson) -> dict[str, Any]:
    """What stands over each record, by the id of its box."""
    words = now.state.words
    rows = {row.number: row for row in lesson_sheet(now.week, now.log, words).boxes}
    return {
        form.box.id: {
            "row": rows.get(form.number),
            "title": box_name(now.week, form.box, words) or form.box.id,
        }
        for form in now.form.boxes
    }


def written_record(request: Request, rows: int) -> dict[str, Any]:
    """What a page is told after rows were written: the records as the log has them now, and its digest."""
    now = asked_lesson(request)
    record = fragment(now.state.words, "lesson_record.html", **record_values(now))
    practised = lesson_sheet(now.week, now.log, now.state.words).practised
    return {"of_log": now.shown.digest, "record": record, "rows": rows, "practised": practised}


def add_rows(now: Lesson, rows: tuple[LogRow, ...], digest: str) -> None:
    """Add rows to the player's log, if it is as it was shown.

    Raises:
        ChangedOutside: It is not.
    """
    if not rows:
        return
    name = now.week.player.name
    now.state.saves.add_rows(
        now.log.path,
        rows,
        name,
        Words(now.week.player.words),
        what=now.state.words(
            f"desk.lesson.step_log{'_one' if len(rows) == 1 else ''}", player=name, n=len(rows)
        ),
        digest_shown=digest,
    )


def conflict(request: Request, error: ChangedOutside, which: str) -> Response:
    """Both texts; `which` names the digest with which a save writes over what was seen."""
    said = {
        "error": state_of(request).words("desk.frame.changed_outside", file=error.path.name),
        "ours": error.ours.decode("utf-8", "replace"),
        "theirs": error.theirs.decode("utf-8", "replace"),
        "digest": error.digest,
        "which": which,
    }
    return answer(said, 409)
