"""Makes workbooks and sound files of a week from its page."""

from __future__ import annotations

import json
from pathlib import Path
from threading import Lock
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from excerpts.desk.frame import posted, state_of
from excerpts.desk.makings import Making, begin
from excerpts.desk.studio_state import Player, StudioState
from excerpts.desk.week_print import made_of, print_week
from excerpts.errors import InputError
from excerpts.studio.builders import HaltedError
from excerpts.system.child import Child, ChildDiedError

WAYS: Final = ("workbook", "only_boxes", "only_new", "booklet", "phone", "sound")
"""What can be made of a week."""

_SECONDS: Final = 300
_MEGABYTES: Final = 4000

_LOOK: Final = 0.1
"""Seconds between two looks whether it is one's turn."""


class WeekMaker:
    """Makes what the week pages of one desk ask for beside workbooks: one thing at a time, the others wait.

    Args:
        state: The studio.
    """

    def __init__(self, state: StudioState) -> None:
        self._state = state
        self._child = Child("excerpts.desk.making_child", megabytes=_MEGABYTES, heard=False)
        self._turn = Lock()

    def made(self, making: Making, player: Player, what: str) -> dict[str, Any]:
        """Make something of the week of a player.

        Raises:
            HaltedError: It was stopped.
            ChildDiedError: It could not be made.
        """
        self._wait(making)
        try:
            with making.halt.by(lambda: self._child.interrupt(kill=True)):
                return self._made(making, player, what)
        except ChildDiedError as error:
            if making.halt.wanted:
                raise HaltedError from error
            raise
        finally:
            self._turn.release()

    def _wait(self, making: Making) -> None:
        if self._turn.acquire(blocking=False):
            return
        making.say("queued")
        while not self._turn.acquire(timeout=_LOOK):
            if making.halt.wanted:
                raise HaltedError

    def _made(self, making: Making, player: Player, what: str) -> dict[str, Any]:
        if what == "sound":
            return self._sounds(making, player)
        facts = self._ask(making, week=str(player.week), what=what)
        if "failed" in facts:
            return {"failed": self._short(facts["failed"])}
        return made_of(self._state, Path(facts["file"]), facts["pages"], facts["told"])

    def _ask(self, making: Making, **order: Any) -> dict[str, Any]:
        def heard(news: bytes) -> None:
            making.say(*json.loads(news))

        (said,) = self._child.ask(json.dumps(order).encode(), seconds=_SECONDS, news=heard)
        facts: dict[str, Any] = json.loads(said)
        return facts

    def _sounds(self, making: Making, player: Player) -> dict[str, Any]:
        place, count, remarks, folder = 0, 1, [], ""
        while place < count:
            if place:
                making.say("sound", place + 1, count)
            facts = self._ask(making, week=str(player.week), what="sound", place=place)
            if "failed" in facts:
                return {"failed": self._short(facts["failed"])}
            place, count, remarks, folder = (
                place + 1,
                facts["all"],
                facts["told"],
                Path(facts["file"]).parent.name,
            )
        message = "desk.week.made_sound" if count == 1 else "desk.week.made_sounds"
        said = self._state.words(message, n=count, folder=folder)
        return {"said": said, "told": remarks}

    def _short(self, text: str) -> str:
        return text.replace(f"{self._state.root}/", "")


def _maker_of(request: Request) -> WeekMaker:
    state = request.app.state
    if not hasattr(state, "week_maker"):
        state.week_maker = WeekMaker(state_of(request))
    maker: WeekMaker = state.week_maker
    return maker


def _make(request: Request) -> Response:
    state = state_of(request)
    what = posted(request).get("what")
    if what not in WAYS:
        raise InputError("this is nothing that can be made of a week.")
    player, maker = state.player(request.path_params["key"]), _maker_of(request)
    if what == "workbook":
        return begin(request, lambda making: print_week(state, player.week, making))
    return begin(request, lambda making: maker.made(making, player, str(what)))


ROUTES: Final = [Route("/week/{key}/make", _make, methods=["POST"])]
