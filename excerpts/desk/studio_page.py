"""The first page: all players of the studio, a new player, scores, and building all that has changed."""

from __future__ import annotations

import asyncio
import json
from collections import Counter
from collections.abc import AsyncIterator
from datetime import date
from typing import Final

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from excerpts.desk.building import Building
from excerpts.desk.frame import answer, posted, render, state_of, uploaded
from excerpts.desk.roster import roster
from excerpts.instruments.instrument import INSTRUMENTS, LEVELS
from excerpts.system.studio_files import player_key

_LOOK: Final = 0.1
"""Seconds between two looks for news of a build."""

_SAID: Final = (
    "desk.studio.building",
    "desk.studio.built",
    "desk.studio.done",
    "desk.studio.made",
    "desk.studio.failed",
    "desk.studio.waiting",
    "desk.studio.to_fault",
    "desk.studio.open",
    "desk.studio.score_added",
    "desk.studio.stopped",
)


def building_of(request: Request) -> Building:
    """The builds of the studio of a request."""
    state = request.app.state
    if not hasattr(state, "building"):
        state.building = Building(state.studio)
    building: Building = state.building
    return building


def _studio(request: Request) -> Response:
    state = state_of(request)
    words = state.words
    listed = roster(state, date.today())
    scores = state.root / state.studio.settings.scores
    return render(
        request,
        "studio.html",
        title=words("desk.studio.title"),
        page="studio",
        script="studio",
        said=_SAID,
        roster=listed,
        folder=state.folder,
        scores=scores,
        has_scores=scores.is_dir() and any(scores.iterdir()),
        running=building_of(request).running,
        instruments=INSTRUMENTS,
        levels=LEVELS,
    )


def _new_player(request: Request) -> Response:
    """Write a first week file; faults are told by the field that each is at."""
    from excerpts.desk.new_player import FormFaultsError, first_week  # not before the first page is there

    state = state_of(request)
    players = state.players()
    known = {player_key(one.name): one.name for one in players}
    places = Counter(one.week.parent for one in players)
    folder = places.most_common(1)[0][0] if places else state.folder  # where most of the week files are
    try:
        path, text = first_week(posted(request), folder, known, state.words.choice)
    except FormFaultsError as error:
        return answer({"faults": error.faults}, 422)
    name = str(posted(request)["name"]).strip()
    state.saves.save(path, "", text.encode(), what=state.words("desk.studio.added", player=name))
    key = next(one.key for one in state.players() if player_key(one.name) == player_key(name))
    return answer({"key": key})


def _pages(request: Request) -> Response:
    """Take printed pages that were dropped on the page into the studio's folder of scores."""
    from excerpts.desk.added_pages import add_pages

    query = request.query_params
    path = add_pages(state_of(request), query.get("name", ""), uploaded(request), query.get("together", ""))
    return answer({"file": path.name})


def _score(request: Request) -> Response:
    """Take a score that was dropped on the page into the studio's folder of scores."""
    from excerpts.desk.added_score import add_score

    state = state_of(request)
    path = add_score(state, request.query_params.get("name", ""), uploaded(request))
    return answer({"file": path.name})


def _build(request: Request) -> Response:
    building_of(request).start()
    return answer({})


def _stop(request: Request) -> Response:
    build = building_of(request).last
    if build is not None:
        build.halt.now()
    return answer({})


def _events(request: Request) -> Response:
    """What happens in the build, from its beginning to its end, as server-sent events (HTML standard, 9.2)."""
    build = building_of(request).last

    async def told() -> AsyncIterator[str]:
        sent = 0
        while build is not None:
            while sent < len(build.events):
                event = build.events[sent]
                yield f"event: {event['kind']}\ndata: {json.dumps(event)}\n\n"
                sent += 1
            if build.over or await request.is_disconnected():
                return
            await asyncio.sleep(_LOOK)

    return StreamingResponse(told(), media_type="text/event-stream")


ROUTES: Final = [
    Route("/", _studio, methods=["GET"]),
    Route("/studio/player", _new_player, methods=["POST"]),
    Route("/studio/score/upload", _score, methods=["POST"]),
    Route("/studio/pages/upload", _pages, methods=["POST"]),
    Route("/studio/build", _build, methods=["POST"]),
    Route("/studio/build/stop", _stop, methods=["POST"]),
    Route("/studio/build/events", _events, methods=["GET"]),
]
