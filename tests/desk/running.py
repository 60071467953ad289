"""A desk in a thread, and a client that writes its own headers."""

from __future__ import annotations

import http.client
import json
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from threading import Thread
from typing import Any, Self

from excerpts.desk.guards import cookie_name
from excerpts.desk.server import Desk


@dataclass
class Answer:
    """What the desk answered."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def said(self) -> dict[str, Any]:
        """What a write was answered."""
        said: dict[str, Any] = json.loads(self.body)
        return said


@dataclass
class RunningDesk:
    """A desk that runs in a thread of this process, and a client that is logged in."""

    folder: Path
    desk: Desk = field(init=False)

    def __post_init__(self) -> None:
        self.desk = Desk(self.folder)
        self._thread = Thread(target=self.desk.run, daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        deadline = time.monotonic() + 20
        while not self.desk.started and time.monotonic() < deadline:
            time.sleep(0.005)
        return self

    def __exit__(self, *_: object) -> None:
        self.desk.stop()
        self._thread.join(20)
        self.desk.__exit__()
        assert not self._thread.is_alive()

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.desk.port}"

    @property
    def address(self) -> str:
        """Where the pages are: "http://127.0.0.1:41234"."""
        return f"http://{self.host}"

    def key_of(self, player: str = "Mila") -> str:
        """What stands for a player in addresses."""
        return next(one.key for one in self.desk.studio.players() if one.name == player)

    @property
    def cookie(self) -> str:
        return f"{cookie_name(self.desk.port)}={self.desk.cookie}"

    def ask(
        self, method: str, path: str, body: bytes | None = None, headers: dict[str, str] | None = None
    ) -> Answer:
        """Send a request with exactly these headers, besides Host and Content-Length."""
        connection = http.client.HTTPConnection("127.0.0.1", self.desk.port, timeout=30)
        try:
            connection.request(method, path, body, headers or {})
            response = connection.getresponse()
            names = {name.lower(): value for name, value in response.getheaders()}
            return Answer(response.status, names, response.read())
        finally:
            connection.close()

    def get(self, path: str) -> Answer:
        """A page, as its own browser asks for it."""
        return self.ask("GET", path, headers={"Cookie": self.cookie})

    def write_headers(self, kind: str = "application/json") -> dict[str, str]:
        """The headers of a write from one of the desk's own pages."""
        return {
            "Cookie": self.cookie,
            "Origin": self.address,
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": kind,
        }

    def post(self, path: str, said: dict[str, Any]) -> Answer:
        """A write, as the desk's own pages send it."""
        return self.ask("POST", path, json.dumps(said).encode(), self.write_headers())

    def made(self, path: str, said: dict[str, Any]) -> list[dict[str, Any]]:
        """Let something be made; all that is told of it, the end last."""
        return list(self.telling(self.post(path, said).said["job"]))

    def telling(self, job: str) -> Iterator[dict[str, Any]]:
        """What is told of something that is made, as it comes."""
        connection = http.client.HTTPConnection("127.0.0.1", self.desk.port, timeout=60)
        try:
            connection.request("GET", f"/making/{job}", headers={"Cookie": self.cookie})
            for line in connection.getresponse():
                if line.strip():
                    yield json.loads(line.removeprefix(b"data: "))
        finally:
            connection.close()

    def upload(self, path: str, data: bytes) -> Answer:
        """The bytes of a file, as the desk's own pages send them."""
        return self.ask("POST", path, data, self.write_headers("application/octet-stream"))


def letters(html: str) -> str:
    """The text of a page without its tags and its data."""
    html = re.sub(r"<(script|style)\b.*?</\1>", " ", html, flags=re.DOTALL)
    return re.sub(r"<[^>]*>", " ", html)
