"""A server of the page's modules for the tests of its rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Self

import pytest

from excerpts.system.resources import templates
from tests.chromium import window

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


class _Quiet(SimpleHTTPRequestHandler):
    """Serves a folder, and says nothing of it."""

    extensions_map = SimpleHTTPRequestHandler.extensions_map | {".mjs": "text/javascript"}

    def log_message(self, *_: object) -> None:
        """Nothing."""


class Served:
    """Folders on 127.0.0.1, until the end of a `with`."""

    def __init__(self) -> None:
        self._servers: list[ThreadingHTTPServer] = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for server in self._servers:
            server.shutdown()
            server.server_close()

    def start(self, folder: Path) -> str:
        """Serve a folder; its address."""
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder)))
        self._servers.append(server)
        Thread(target=server.serve_forever, daemon=True).start()
        return f"http://127.0.0.1:{server.server_port}"


@pytest.fixture(scope="session")
def serve() -> Iterator[Callable[[Path], str]]:
    """Serves a folder on 127.0.0.1 and gives its address."""
    with Served() as served:
        yield served.start


@pytest.fixture(scope="module")
def modules(browser: Browser, serve: Callable[[Path], str]) -> Iterator[Page]:
    """A page that may import the modules of the player's page one by one: `await import("/rules.mjs")`."""
    with window(browser, base_url=serve(templates() / "player_page")) as shown:
        shown.goto("/page.css")
        yield shown
