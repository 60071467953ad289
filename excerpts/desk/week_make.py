"""Makes workbooks and sound files of a week from its page: in a process of its own, told step by step."""

from __future__ import annotations

import asyncio
import json
import logging
import secrets
from collections import OrderedDict
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock, Thread
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from excerpts.desk.frame import answer, posted, state_of
from excerpts.desk.studio_state import NotThereError, Player, StudioState
from excerpts.desk.week_print import print_week
from excerpts.errors import ExcerptsError, InputError
from excerpts.system.child import Child, ChildDiedError

WAYS: Final = ("workbook", "only_boxes", "only_new", "booklet", "phone", "sound")
"""What can be made of a week."""

_SECONDS: Final = 300
_MEGABYTES: Final = 4000
_MOST: Final = 50
"""Makings that are remembered."""

_LOOK: Final = 0.1
"""Seconds between two looks for news."""

_LOGGER = logging.getLogger("excerpts")


@dataclass
class Making:
    """One thing that is made.

    Attributes:
        events: What has happened so far; the last one has `end`.
    """

    events: list[dict[str, Any]] = field(default_factory=list)

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return bool(self.events) and bool(self.events[-1].get("end"))


class Makings:
    """What the week pages of one desk have asked for: one thing at a time, the others wait.

    Args:
        state: The studio.
    """

    def __init__(self, state: StudioState) -> None:
        self._state = state
        self._child = Child("excerpts.desk.making_child", megabytes=_MEGABYTES, heard=False)
        self._known: OrderedDict[str, Making] = OrderedDict()
        self._lock = Lock()

    def start(self, player: Player, what: str) -> str:
        """Begin to make something; the key by which it is asked after."""
        making, key = Making(), secrets.token_urlsafe(9)
        with self._lock:
            self._known[key] = making
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        Thread(target=self._run, args=(making, player, what), daemon=True).start()
        return key

    def get(self, key: str) -> Making:
        """What was begun under a key.

        Raises:
            NotThereError: Nothing was.
        """
        with self._lock:
            if key not in self._known:
                raise NotThereError("nothing was begun under this key.")
            return self._known[key]

    def _run(self, making: Making, player: Player, what: str) -> None:
        try:
            end = self._made(making, player, what)
        except ChildDiedError as error:
            end = {"failed": f"the process that made it {error.reason}."}
        except ExcerptsError as error:
            end = {"failed": self._short(str(error))}
        except Exception as error:  # in a thread that nobody waits for
            _LOGGER.exception("a workbook could not be made")
            end = {"failed": f"{type(error).__name__}: {error}"}
        making.events.append({"end": True, **end})

    def _made(self, making: Making, player: Player, what: str) -> dict[str, Any]:
        if what == "sound":
            return self._sounds(making, player)
        if what != "workbook":
            return self._told(self._ask(week=str(player.week), what=what))
        made = print_week(self._state, player.week)
        return self._end(Path(made["name"]), made["file"], made["pages"], made["told"])

    def _ask(self, **order: Any) -> dict[str, Any]:
        (said,) = self._child.ask(json.dumps(order).encode(), seconds=_SECONDS)
        facts: dict[str, Any] = json.loads(said)
        return facts

    def _told(self, facts: dict[str, Any]) -> dict[str, Any]:
        if "failed" in facts:
            return {"failed": self._short(facts["failed"])}
        path = Path(facts["file"])
        return self._end(path, self._state.give(path), facts["pages"], facts["told"])

    def _end(self, path: Path, key: str, pages: int, told: list[str]) -> dict[str, Any]:
        message = "desk.week.made_one" if pages == 1 else "desk.week.made"
        return {
            "file": f"/file/{key}",
            "said": self._state.words(message, file=path.name, pages=pages),
            "told": [self._short(line) for line in told],
        }

    def _sounds(self, making: Making, player: Player) -> dict[str, Any]:
        place, count, told, folder = 0, 1, [], ""
        while place < count:
            facts = self._ask(week=str(player.week), what="sound", place=place)
            if "failed" in facts:
                return {"failed": self._short(facts["failed"])}
            place, count, told, folder = (
                place + 1,
                facts["all"],
                facts["told"],
                Path(facts["file"]).parent.name,
            )
            making.events.append({"done": place, "of": count})
        said = self._state.words("desk.week.made_sounds", n=count, folder=folder)
        return {"said": said, "told": told}

    def _short(self, text: str) -> str:
        return text.replace(f"{self._state.root}/", "")


def makings_of(request: Request) -> Makings:
    """What is made for the pages of a desk."""
    state = request.app.state
    if not hasattr(state, "makings"):
        state.makings = Makings(state_of(request))
    makings: Makings = state.makings
    return makings


def _make(request: Request) -> Response:
    state = state_of(request)
    what = posted(request).get("what")
    if what not in WAYS:
        raise InputError("this is nothing that can be made of a week.")
    return answer({"job": makings_of(request).start(state.player(request.path_params["key"]), str(what))})


def _events(request: Request) -> Response:
    """What happens, from the beginning to the end, as server-sent events (HTML standard, 9.2)."""
    making = makings_of(request).get(request.path_params["job"])

    async def told() -> AsyncIterator[str]:
        sent = 0
        while True:
            while sent < len(making.events):
                yield f"data: {json.dumps(making.events[sent])}\n\n"
                sent += 1
            if making.over or await request.is_disconnected():
                return
            await asyncio.sleep(_LOOK)

    return StreamingResponse(told(), media_type="text/event-stream")


ROUTES: Final = [
    Route("/week/{key}/make", _make, methods=["POST"]),
    Route("/week/{key}/make/{job}", _events, methods=["GET"]),
]
