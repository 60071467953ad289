"""What was saved, in order, and the way back."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import answer, render, state_of


def _list(request: Request) -> Response:
    state = state_of(request)
    steps = [step for step in reversed(state.saves.steps())]
    return render(request, "undo.html", title=state.words("desk.undo.title"), page="undo", steps=steps)


def _undo(request: Request) -> Response:
    """Take back the last step; the answer says what it was, or has none where there is nothing."""
    step = state_of(request).saves.undo_last()
    return answer({"undone": step.what if step else None})


ROUTES: Final = [
    Route("/undo", _list, methods=["GET"]),
    Route("/undo/last", _undo, methods=["POST"]),
]
