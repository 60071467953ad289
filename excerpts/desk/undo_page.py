"""What was saved, in order, and the way back; and files as they were each time they were opened."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.as_opened import KEPT, Opened
from excerpts.desk.frame import answer, posted, render, state_of
from excerpts.desk.studio_state import NotThereError, StudioState
from excerpts.desk.undo import Step
from excerpts.words import Words
from excerpts.workbook.page_texts import short_day

_MOST_SHOWN: Final = 200
"""Steps on the page, the last first."""


@dataclass(frozen=True, slots=True)
class Line:
    """A step as the page shows it.

    Attributes:
        step: The step.
        when: When it was done, in words.
    """

    step: Step
    when: str


@dataclass(frozen=True, slots=True)
class Kept:
    """A file as it was once, as the page shows it.

    Attributes:
        one: The file.
        when: When it was opened, in words.
    """

    one: Opened
    when: str


def _list(request: Request) -> Response:
    state = state_of(request)
    words = state.words
    steps = list(reversed(state.saves.steps()))[:_MOST_SHOWN]
    kept = [Kept(one, said_when(one.when, words)) for one in state.saves.as_opened.all_kept()]
    return render(
        request,
        "undo.html",
        title=words("desk.undo.title"),
        page="undo",
        script="undo",
        lines=[Line(step, said_when(datetime.fromisoformat(step.when), words)) for step in steps],
        left=any(step.state != "undone" for step in steps),
        files={
            name: [one for one in kept if one.one.name == name]
            for name in sorted({one.one.name for one in kept})
        },
        days=KEPT.days,
    )


def said_when(when: datetime, words: Words) -> str:
    """A moment in words, by the clock of this computer: "30 Nov, 16:05"."""
    here = when.astimezone()
    return words("desk.undo.when", day=short_day(here.date(), words), time=f"{here:%H:%M}")


def _undo(request: Request) -> Response:
    """Take back the last step; the answer says what it was, or has none where there is nothing."""
    step = state_of(request).saves.undo_last()
    return answer({"undone": step.what if step else None})


def _kept(state: StudioState, key: str) -> tuple[Opened, bytes]:
    """A file as it was, by its key.

    Raises:
        NotThereError: It is not kept, or not any more.
    """
    one = next((one for one in state.saves.as_opened.all_kept() if one.key == key), None)
    data = state.saves.as_opened.data_of(key) if one else None
    if one is None or data is None:
        raise NotThereError("this file is not kept any more.")
    return one, data


def _show(request: Request) -> Response:
    """A file as it was, beside what it holds now."""
    state = state_of(request)
    one, data = _kept(state, request.path_params["key"])
    words = state.words
    now = state.saves.show(state.root / one.name)
    return render(
        request,
        "as_opened.html",
        title=one.name,
        page="undo",
        script="undo",
        one=one,
        when=said_when(one.when, words),
        text=data.decode("utf-8-sig", "replace"),
        now=now.text,
        digest=now.digest,
        same=now.data == data,
    )


def _bring_back(request: Request) -> Response:
    """Make a file what it was; this is a step that can be undone itself."""
    state = state_of(request)
    said = posted(request)
    one, data = _kept(state, str(said.get("key")))
    what = state.words("desk.undo.brought_back", file=one.name, when=said_when(one.when, state.words))
    digest = state.saves.save(state.root / one.name, str(said.get("digest", "")), data, what=what)
    return answer({"digest": digest})


ROUTES: Final = [
    Route("/undo", _list, methods=["GET"]),
    Route("/undo/last", _undo, methods=["POST"]),
    Route("/undo/file/{key}", _show, methods=["GET"]),
    Route("/undo/bring-back", _bring_back, methods=["POST"]),
]
