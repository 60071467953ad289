"""The desk as one application: the pages' routes, what an error is answered with, the guards around all of it.

A page is a module with `ROUTES`; its name stands in `PAGES`.
"""

from __future__ import annotations

import logging
from collections.abc import Sequence
from importlib import import_module
from threading import Lock, Thread
from typing import Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import BaseRoute, Match, Route
from starlette.types import Receive, Scope, Send

from excerpts.desk import frame, shipped
from excerpts.desk.guards import START, Guards, cookie_name
from excerpts.desk.saves import ChangedOutside
from excerpts.desk.studio_state import NotThereError, StudioState
from excerpts.errors import ExcerptsError

_LOGGER = logging.getLogger("excerpts")

FIRST: Final = ("studio_page", "given_files")
"""The modules that the first page needs."""

PAGES: Final = (
    "home_page",
    "undo_page",
    "week_page",
    "week_scores",
    "week_make",
    "makings",
    "part_page",
    "variants_page",
    "marks_page",
    "lesson_page",
    "lesson_file",
    "hand_page",
    "hear_page",
    "pages_page",
    "warmups_page",
)
"""The modules of all other pages: loaded once the first page is answered, so that nobody waits for them to see it."""


def make_app(studio: StudioState, port: int, start: str, cookie: str) -> Guards:
    """The desk.

    Args:
        studio: The studio.
        port: The port that it listens on.
        start: The secret in the start address.
        cookie: The secret in the cookie that the start address gives.
    """

    def begin(_request: Request) -> Response:
        """Give the cookie, and lead to the first page.

        By a page and not by status 303: a browser that came from a file does not send a strict cookie on a redirect.
        """
        page = HTMLResponse(_FORWARD)
        page.set_cookie(cookie_name(port), cookie, path="/", httponly=True, samesite="strict")
        return page

    routes: list[BaseRoute] = [Route(f"{START}{start}", begin, methods=["GET"]), *shipped.routes()]
    routes += routes_of(FIRST)
    app = Starlette(
        routes=routes,
        exception_handlers={
            HTTPException: _not_there,
            ChangedOutside: _changed,
            ExcerptsError: _error,
            Exception: _our_fault,
        },
    )
    app.state.studio = studio
    app.router.redirect_slashes = False
    return Guards(_Growing(app), port, cookie, start)


def routes_of(pages: Sequence[str]) -> list[Route]:
    """The routes of pages, by the names of their modules."""
    return [route for name in pages for route in import_module(f"excerpts.desk.{name}").ROUTES]


class _Growing:
    """An application that gets its other pages once the first is answered, or when one of them is asked for."""

    def __init__(self, app: Starlette) -> None:
        self._app = app
        self._whole = False
        self._lock = Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if not self._whole and all(route.matches(scope)[0] is Match.NONE for route in self._app.routes):
            await run_in_threadpool(self._load)
        await self._app(scope, receive, send)
        if not self._whole and scope["path"] == "/":
            Thread(target=self._load_ahead, daemon=True).start()

    def _load_ahead(self) -> None:
        """Load the pages while the first one is looked at, and what the page of a part is drawn with."""
        self._load()
        from excerpts.desk.part_picture import get_ready

        get_ready()

    def _load(self) -> None:
        with self._lock:
            if not self._whole:
                self._app.router.routes += routes_of(PAGES)
                self._whole = True


_FORWARD: Final = (
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta http-equiv="refresh" content="0;url=/">'
    '<title>Excerpts</title></head><body><p><a href="/">Go on</a></p></body></html>'
)


def _not_there(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    words = frame.state_of(request).words
    what = words("desk.frame.not_there") if error.status_code == 404 else str(error.detail)
    return _said(request, what, error.status_code)


def _changed(request: Request, error: Exception) -> Response:
    """Both texts, and the digest with which a save writes over what was seen."""
    assert isinstance(error, ChangedOutside)
    said = {
        "error": frame.state_of(request).words("desk.frame.changed_outside", file=error.path.name),
        "ours": error.ours.decode("utf-8", "replace"),
        "theirs": error.theirs.decode("utf-8", "replace"),
        "digest": error.digest,
    }
    return frame.answer(said, 409)


def _error(request: Request, error: Exception) -> Response:
    assert isinstance(error, ExcerptsError)
    status = 404 if isinstance(error, NotThereError) else 422 if error.exit_status == 2 else 500
    return _said(request, str(error), status)


def _our_fault(request: Request, error: Exception) -> Response:
    """A fault of the program: told on the page and in the terminal; where it arose, by `excerpts --debug desk`."""
    what = f"{type(error).__name__}: {error}"
    _LOGGER.error("something went wrong in the program itself at %s: %s", request.url.path, what)
    _LOGGER.debug("where it arose:", exc_info=error)
    words = frame.state_of(request).words
    return _said(request, words("desk.frame.our_fault", what=what), 500)


def _said(request: Request, what: str, status: int) -> Response:
    if request.method == "POST":
        return frame.answer({"error": what}, status)
    title = frame.state_of(request).words("desk.frame.fault")
    return frame.render(request, "fault.html", title=title, what=what, status=status)
