"""What takes longer than an answer may: made in a thread, told step by step in words, stopped where that is wanted."""

from __future__ import annotations

import asyncio
import json
import logging
import secrets
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from threading import Lock, Thread
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from excerpts.desk.frame import answer, state_of
from excerpts.desk.studio_state import NotThereError
from excerpts.errors import ExcerptsError
from excerpts.studio.builders import Halt, HaltedError
from excerpts.studio.run import Progress
from excerpts.system.child import ChildDiedError
from excerpts.words import Words

_MOST: Final = 50
"""Makings that are remembered."""

_LOOK: Final = 0.1
"""Seconds between two looks for news."""

_LOGGER = logging.getLogger("excerpts")


@dataclass
class Making:
    """One thing that is made.

    Attributes:
        words: The studio's words.
        events: What has happened so far: `now` says what is being done; the last one has `end`.
        halt: Ends it.
    """

    words: Words
    events: list[dict[str, Any]] = field(default_factory=list)
    halt: Halt = field(default_factory=Halt)

    @property
    def over(self) -> bool:
        """Whether it has ended."""
        return bool(self.events) and bool(self.events[-1].get("end"))

    def say(self, what: str, number: int = 0, of: int = 0) -> None:
        """Say what is being done, by the name of its message."""
        self.events.append({"now": self.words(f"desk.making.{what}", number=number, of=of)})

    @property
    def progress(self) -> Progress:
        """By which a build of the studio tells how far it is."""
        return Progress(
            waiting=lambda: self.say("queued"),
            step=lambda _week, what, number, of: self.say(what, number, of),
        )


Work = Callable[[Making], dict[str, Any]]
"""Makes something and gives what the page is told at the end."""


class Makings:
    """What the pages of one desk have asked for."""

    def __init__(self) -> None:
        self._known: OrderedDict[str, Making] = OrderedDict()
        self._lock = Lock()

    def start(self, words: Words, work: Work) -> str:
        """Begin to make something; the key by which it is asked after."""
        making, key = Making(words), secrets.token_urlsafe(9)
        making.say("begun")
        with self._lock:
            self._known[key] = making
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        Thread(target=_run, args=(making, work), daemon=True).start()
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


def _run(making: Making, work: Work) -> None:
    try:
        end = work(making)
    except HaltedError:
        end = {"stopped": making.words("desk.making.stopped")}
    except ChildDiedError as error:
        end = {"failed": f"the process that made it {error.reason}."}
    except ExcerptsError as error:
        end = {"failed": str(error)}
    except Exception as error:  # in a thread that nobody waits for
        _LOGGER.exception("something could not be made")
        end = {"failed": f"{type(error).__name__}: {error}"}
    making.events.append({"end": True, **end})


def begin(request: Request, work: Work) -> Response:
    """Begin to make something; the answer has the key by which the page follows it."""
    return answer({"job": _makings_of(request).start(state_of(request).words, work)})


def _makings_of(request: Request) -> Makings:
    state = request.app.state
    if not hasattr(state, "makings"):
        state.makings = Makings()
    makings: Makings = state.makings
    return makings


def _events(request: Request) -> Response:
    """What happens, from the beginning to the end, as server-sent events (HTML standard, 9.2)."""
    making = _makings_of(request).get(request.path_params["job"])

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


def _stop(request: Request) -> Response:
    _makings_of(request).get(request.path_params["job"]).halt.now()
    return answer({})


ROUTES: Final = [
    Route("/making/{job}", _events, methods=["GET"]),
    Route("/making/{job}/stop", _stop, methods=["POST"]),
]
