"""The first page: all players of the studio."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import render, state_of


def _studio(request: Request) -> Response:
    state = state_of(request)
    return render(
        request,
        "studio.html",
        title=state.words("desk.studio.title"),
        page="studio",
        players=state.players(),
    )


ROUTES: Final = [Route("/", _studio, methods=["GET"])]
