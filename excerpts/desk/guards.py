"""What every request passes before a page sees it, and what every answer carries.

The desk listens on 127.0.0.1 alone, yet every page of every web site that is open in the same browser can send it
requests. So a request must name this address exactly (a site that rebinds its own name to 127.0.0.1 sends its own
name), must carry the cookie that the start address gave, and a write must come from one of the desk's own pages.

The rules of the headers: RFC 9110 (Host, Content-Length, Connection), RFC 6454 (Origin), RFC 6265bis (SameSite),
W3C Fetch Metadata (Sec-Fetch-Site), Content Security Policy Level 3.
"""

from __future__ import annotations

import asyncio
import hmac
import json
import secrets
from http.cookies import CookieError, SimpleCookie
from typing import Final

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_JSON: Final = 2_000_000
"""Bytes of a write: a week file has at most a million, and comes with what was shown."""

LARGEST_UPLOAD: Final = 20_000_000
"""Bytes of a file that is dropped on a page."""

PAGES_UPLOAD: Final = "/pages/upload"
"""How an address ends that takes printed pages."""

LARGEST_PAGES: Final = 100_000_000
"""Bytes of a file of printed pages: forty pages in greys at 300 dots an inch."""

UPLOAD: Final = "/upload"
"""How an address ends that takes the bytes of a file as they are (application/octet-stream) instead of JSON."""

START: Final = "/start/"
"""Where the start address begins: the one that needs no cookie, as it gives it."""

SLOWEST_BODY: Final = 20.0
"""Seconds in which the body of a write must be there."""

READS: Final = ("GET", "HEAD")


class Guards:
    """Lets through what comes from the desk's own pages, and refuses everything else.

    Args:
        app: The pages.
        port: The port that the desk listens on.
        cookie: Value of the cookie that a request must carry.
        start: The secret in the start address.
    """

    def __init__(self, app: ASGIApp, port: int, cookie: str, start: str) -> None:
        self._app = app
        self._host = f"127.0.0.1:{port}"
        self._origin = f"http://{self._host}"
        self._name = cookie_name(port)
        self._cookie = cookie
        self._start = f"{START}{start}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] != "http":
            return
        nonce = secrets.token_urlsafe(16)
        answer = _Answer(send, nonce)
        scope.setdefault("state", {})["nonce"] = nonce
        refusal = self._refusal(scope)
        if refusal is None and scope["method"] == "POST":
            try:
                scope["state"]["body"] = await asyncio.wait_for(_body(receive), SLOWEST_BODY)
                scope["state"]["json"] = _json(scope["state"]["body"], scope["path"])
            except TimeoutError:
                refusal = (408, "The rest of the request did not come.")
            except ValueError:
                refusal = (400, "The body is not a table in JSON.")
        if refusal is None:
            await self._app(scope, receive, answer)
            return
        status, why = refusal
        response = PlainTextResponse(f"{why}\n", status, {"Connection": "close"})
        await response(scope, receive, answer)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:
        """Status and reason of a refusal; None for a request that is let through."""
        headers: list[tuple[bytes, bytes]] = scope["headers"]
        if _values(headers, b"host") != [self._host.encode()]:
            return 421, "This is not the address of the desk."
        if scope["method"] not in (*READS, "POST"):
            return 405, "The desk knows GET and POST."
        if not self._known(headers) and not (scope["method"] == "GET" and same(scope["path"], self._start)):
            return 403, "Open the desk by the address that it was started with."
        if scope["method"] == "POST":
            return self._refused_write(headers, scope["path"])
        if _values(headers, b"content-length") not in ([], [b"0"]) or _values(headers, b"transfer-encoding"):
            return 400, "A request to read has no body."
        return None

    def _refused_write(self, headers: list[tuple[bytes, bytes]], path: str) -> tuple[int, str] | None:
        if _values(headers, b"origin") != [self._origin.encode()]:
            return 403, "Writes come from the desk's own pages."
        if _values(headers, b"sec-fetch-site") != [b"same-origin"]:
            return 403, "Writes come from the desk's own pages."
        wanted, most = b"application/json", LARGEST_JSON
        if path.endswith(UPLOAD):
            wanted = b"application/octet-stream"
            most = LARGEST_PAGES if path.endswith(PAGES_UPLOAD) else LARGEST_UPLOAD
        if [value.lower() for value in _values(headers, b"content-type")] != [wanted]:
            return 415, f"A write here is {wanted.decode()}."
        if _values(headers, b"transfer-encoding"):
            return 411, "A write says how long it is."
        length = _values(headers, b"content-length")
        if len(length) != 1 or not length[0].isdigit():
            return 411, "A write says how long it is."
        if int(length[0]) > most:
            return 413, f"A write here has at most {most} bytes."
        return None

    def _known(self, headers: list[tuple[bytes, bytes]]) -> bool:
        """Whether the cookie is there and is the right one, compared in a time that tells nothing of it."""
        given = []
        for value in _values(headers, b"cookie"):
            try:
                jar = SimpleCookie(value.decode("latin-1"))
            except CookieError:
                continue
            if self._name in jar:
                given.append(jar[self._name].value)
        return len(given) == 1 and same(given[0], self._cookie)


def same(given: str, secret: str) -> bool:
    """Whether a text is the secret, found out in a time that tells nothing of it."""
    return hmac.compare_digest(given.encode("utf-8", "surrogatepass"), secret.encode())


def cookie_name(port: int) -> str:
    """What the cookie is called: cookies are shared by all ports of an address, so the port is in its name."""
    return f"desk-{port}"


def _values(headers: list[tuple[bytes, bytes]], name: bytes) -> list[bytes]:
    return [value for key, value in headers if key == name]


async def _body(receive: Receive) -> bytes:
    """The whole body; its length was announced and is bounded."""
    parts = []
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise ValueError("the client went away")
        parts.append(message.get("body", b""))
        if not message.get("more_body", False):
            return b"".join(parts)


def _json(body: bytes, path: str) -> dict[str, object]:
    """What a write says; nothing for the bytes of a file.

    Raises:
        ValueError: It is no JSON, or no table.
    """
    if path.endswith(UPLOAD):
        return {}
    try:
        said = json.loads(body)
    except RecursionError as error:
        raise ValueError("too deep") from error
    if not isinstance(said, dict):
        raise ValueError("no table")
    return said


def policy(nonce: str) -> str:
    """What a page of the desk may load: its own script and styles, its own pictures, and nothing from elsewhere."""
    return (
        f"default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; img-src 'self' data: blob:; "
        "font-src 'self'; connect-src 'self'; media-src 'self' blob:; frame-src 'self'; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    )


class _Answer:
    """Adds to every answer what a browser is to be told."""

    def __init__(self, send: Send, nonce: str) -> None:
        self._send = send
        self._nonce = nonce

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name.lower() for name, _ in message["headers"]}
            more = {
                b"content-security-policy": policy(self._nonce).encode(),
                b"cross-origin-resource-policy": b"same-origin",
                b"cross-origin-opener-policy": b"same-origin",
                b"x-content-type-options": b"nosniff",
                b"referrer-policy": b"same-origin",
                b"x-frame-options": b"DENY",
                b"cache-control": b"no-store",
            }
            message["headers"] = [*message["headers"], *(pair for pair in more.items() if pair[0] not in own)]
        await self._send(message)
