"""Runs a desk: one socket on 127.0.0.1, at a port that the system chooses."""

from __future__ import annotations

import logging
import secrets
import socket
from pathlib import Path
from typing import Self

import uvicorn

from excerpts.desk.app import make_app
from excerpts.desk.connections import Connection
from excerpts.desk.guards import START
from excerpts.desk.studio_state import StudioState

_BACKLOG = 512


class Desk:
    """A desk on one folder, to be used in a `with`; `run` serves it until it is stopped.

    Args:
        folder: The studio's folder.

    Attributes:
        port: The port that it listens on.
        start_address: Where a browser begins; it holds a secret.
        cookie: The secret that the start address gives.
    """

    def __init__(self, folder: Path) -> None:
        self.studio = StudioState(folder)
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        self._socket.bind(("127.0.0.1", 0))
        self._socket.listen(_BACKLOG)  # a browser that comes before `run` waits
        self.port: int = self._socket.getsockname()[1]
        start, self.cookie = secrets.token_urlsafe(32), secrets.token_urlsafe(32)
        self.start_address = f"http://127.0.0.1:{self.port}{START}{start}"
        # What goes wrong in a page is told by `app`; a browser that goes away in the middle is nothing to tell.
        logging.getLogger("uvicorn").setLevel(logging.CRITICAL)
        config = uvicorn.Config(
            make_app(self.studio, self.port, start, self.cookie),
            http=Connection,
            loop="asyncio",
            lifespan="off",
            ws="none",
            log_config=None,
            access_log=False,
            server_header=False,
            backlog=_BACKLOG,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=2,
        )
        self._server = uvicorn.Server(config)

    def run(self) -> None:
        """Serve until Control-C, or until `stop` is called from another thread."""
        self._server.run(sockets=[self._socket])

    def stop(self) -> None:
        """End `run`."""
        self._server.should_exit = True

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._socket.close()

    @property
    def started(self) -> bool:
        """Whether it answers by now."""
        return self._server.started
