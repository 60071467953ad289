"""What the desk refuses: every rule alone, by requests that are right but for one thing."""

from __future__ import annotations

import http.client
import json
import re
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from starlette.routing import Route

from excerpts.desk import app, connections, guards, shipped
from tests.desk.running import RunningDesk
from tests.studio.small import studio

BODY = json.dumps({}).encode()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDesk]:
    """One desk for all tests here, which change nothing of it."""
    patch = pytest.MonkeyPatch()
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME"):
        patch.setenv(name, str(tmp_path_factory.mktemp(name.lower())))
    with RunningDesk(studio(tmp_path_factory.mktemp("studio"), "Mila")) as running:
        yield running
    patch.undo()


def raw(desk: RunningDesk, request: bytes, wait: float = 10) -> bytes:
    """What is answered to bytes as they are."""
    with closing(socket.create_connection(("127.0.0.1", desk.desk.port), timeout=wait)) as wire:
        wire.sendall(request)
        parts = []
        while part := wire.recv(65536):
            parts.append(part)
            if b"\r\n\r\n" in b"".join(parts):
                break
        return b"".join(parts)


def status(answer: bytes) -> int:
    return int(answer.split(b" ", 2)[1])


def test_a_page_and_a_write_of_its_own_are_let_through(desk: RunningDesk) -> None:
    assert desk.get("/").status == 200
    answer = desk.post("/undo/last", {})
    assert (answer.status, answer.said) == (200, {"undone": None})


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"Cookie": ""}, 403),
        ({"Cookie": "desk-1=x"}, 403),
        ({"Origin": ""}, 403),
        ({"Origin": "http://127.0.0.1"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": "http://evil.test"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "none"}, 403),
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "application/x-www-form-urlencoded"}, 415),
        ({"Content-Type": "application/json; charset=utf-8"}, 415),
        ({"Host": "evil.test"}, 421),
        ({"Host": "127.0.0.1"}, 421),
        ({"Host": "127.0.0.1:1"}, 421),
        ({"Host": "localhost:{port}"}, 421),
        ({"Host": "127.0.0.1:{port}."}, 421),
        ({"Content-Length": "99999999"}, 413),
    ],
)
def test_a_write_with_one_thing_wrong_is_refused(
    desk: RunningDesk, changed: dict[str, str], code: int
) -> None:
    changed = {name: value.format(port=desk.desk.port) for name, value in changed.items()}
    answer = desk.ask("POST", "/undo/last", BODY, desk.write_headers() | changed)
    assert answer.status == code
    assert answer.headers["connection"] == "close"


@pytest.mark.parametrize("left_out", ["Cookie", "Origin", "Sec-Fetch-Site", "Content-Type"])
def test_a_write_that_lacks_a_header_is_refused(desk: RunningDesk, left_out: str) -> None:
    headers = {name: value for name, value in desk.write_headers().items() if name != left_out}
    assert desk.ask("POST", "/undo/last", BODY, headers).status in (403, 415)


@pytest.mark.parametrize(
    "lines",
    [
        "Host: {host}\r\nHost: {host}",
        "Host: {host}\r\nHost: evil.test",
        "Host: evil.test\r\nHost: {host}",
        "host: {host}\r\nHOST: {host}",
    ],
)
def test_two_hosts_are_refused(desk: RunningDesk, lines: str) -> None:
    said = lines.format(host=desk.host)
    assert status(raw(desk, f"GET / HTTP/1.1\r\n{said}\r\nCookie: {desk.cookie}\r\n\r\n".encode())) in (
        400,
        421,
    )


def test_no_host_is_refused(desk: RunningDesk) -> None:
    for version in ("1.0", "1.1"):
        answer = raw(desk, f"GET / HTTP/{version}\r\nCookie: {desk.cookie}\r\n\r\n".encode())
        assert status(answer) in (400, 421)


def test_a_cookie_that_comes_twice_is_no_cookie(desk: RunningDesk) -> None:
    lines = f"Host: {desk.host}\r\nCookie: {desk.cookie}\r\nCookie: {desk.cookie}"
    assert status(raw(desk, f"GET / HTTP/1.1\r\n{lines}\r\n\r\n".encode())) == 403


def routes() -> list[Route]:
    """Every route that the desk has."""
    return [*shipped.routes(), *app.routes_of(app.FIRST), *app.routes_of(app.PAGES)]


def test_without_the_cookie_nothing_is_there(desk: RunningDesk) -> None:
    asked = 0
    for route in routes():
        path = re.sub(r"\{.*?\}", "x", route.path)
        for method in sorted(route.methods or ()):
            headers = {name: value for name, value in desk.write_headers().items() if name != "Cookie"}
            answer = desk.ask(method, path, BODY if method == "POST" else None, headers)
            assert answer.status == 403, path
            assert b"Mila" not in answer.body
            asked += 1
    assert asked > 20


def test_only_the_whole_start_address_gives_the_cookie(desk: RunningDesk) -> None:
    path = desk.desk.start_address.removeprefix(desk.address)
    good = desk.ask("GET", path)
    assert (good.status, good.headers["set-cookie"]) == (
        200,
        f"{desk.cookie}; HttpOnly; Path=/; SameSite=strict",
    )
    assert desk.cookie.partition("=")[2] not in good.text
    for wrong in (path[:-1], path + "x", path.upper(), "/start/", "/start", path + "/", path + "%20"):
        assert desk.ask("GET", wrong).status == 403, wrong
    assert desk.ask("POST", path, BODY, {"Content-Type": "application/json"}).status == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "get"])
def test_other_methods_are_refused_and_nobody_else_is_allowed(desk: RunningDesk, method: str) -> None:
    answer = desk.ask(method, "/", headers=desk.write_headers() | {"Access-Control-Request-Method": "POST"})
    assert answer.status in (400, 405)
    assert not [name for name in answer.headers if name.startswith("access-control")]


@pytest.mark.parametrize(
    "lines",
    [
        "Transfer-Encoding: chunked",
        "Content-Length: 2\r\nTransfer-Encoding: chunked",
        "Content-Length: 2\r\nContent-Length: 3",
        "Content-Length: +2",
        "Content-Length: -1",
        "Content-Length: 0x2",
        "X: y",
    ],
)
def test_a_write_that_does_not_say_how_long_it_is_is_refused(desk: RunningDesk, lines: str) -> None:
    said = "\r\n".join(f"{name}: {value}" for name, value in desk.write_headers().items())
    request = f"POST /undo/last HTTP/1.1\r\nHost: {desk.host}\r\n{said}\r\n{lines}\r\n\r\n{{}}"
    assert status(raw(desk, request.encode())) in (400, 411)


def test_a_read_has_no_body(desk: RunningDesk) -> None:
    assert desk.ask("GET", "/", b"{}", {"Cookie": desk.cookie}).status == 400


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"null", b"1", b'"x"', b"\xff", b"[" * 100_000])
def test_what_is_no_table_is_refused(desk: RunningDesk, body: bytes) -> None:
    assert desk.ask("POST", "/undo/last", body, desk.write_headers()).status == 400


def test_a_body_that_does_not_come_is_not_waited_for(
    desk: RunningDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guards, "SLOWEST_BODY", 0.2)
    said = "\r\n".join(f"{name}: {value}" for name, value in desk.write_headers().items())
    request = f"POST /undo/last HTTP/1.1\r\nHost: {desk.host}\r\n{said}\r\nContent-Length: 20\r\n\r\n{{"
    assert status(raw(desk, request.encode())) == 408


def test_heads_of_any_length_are_bounded(desk: RunningDesk) -> None:
    try:
        answer = raw(desk, f"GET / HTTP/1.1\r\nHost: {desk.host}\r\nX: ".encode() + b"x" * 2_000_000)
    except ConnectionError:
        return  # it was closed while the rest was sent
    assert answer == b"" or status(answer) == 400


@pytest.mark.parametrize(
    "path",
    [
        "/own/../studio.toml", "/own/%2e%2e/studio.toml", "/own/..%2fstudio.toml", "/own/..%5cstudio.toml",
        "/own//desk.css", "//own/desk.css", "/own/desk.css/", "/own/frame.html", "/own/", "/own",
        "/file/../mila-11-30.toml", "/file/mila-11-30.toml", "/file/%2fetc%2fpasswd", "/file/", "/file/x%00",
        "/undo/file/..%2f..%2fetc", "/undo/file/x", "/studio.toml", "/mila-11-30.toml", "/static/x", "/nowhere",
        "http://evil.test/own/desk.css",
    ],
)  # fmt: skip
def test_no_file_is_served_by_its_path(desk: RunningDesk, path: str) -> None:
    answer = raw(desk, f"GET {path} HTTP/1.1\r\nHost: {desk.host}\r\nCookie: {desk.cookie}\r\n\r\n".encode())
    assert status(answer) == 404


def test_every_answer_tells_the_browser_what_it_may_do(desk: RunningDesk) -> None:
    pages = [desk.get("/"), desk.get("/nowhere"), desk.get("/own/desk.css"), desk.post("/undo/last", {})]
    pages.append(desk.ask("GET", "/"))
    nonces = []
    for answer in pages:
        policy = answer.headers["content-security-policy"]
        nonces += re.findall(r"script-src 'nonce-([^']+)'", policy)
        for part in ("default-src 'none'", "base-uri 'none'", "form-action 'none'", "frame-ancestors 'none'"):
            assert part in policy
        assert "unsafe" not in policy
        assert "http" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"
        assert "server" not in answer.headers
    assert len(set(nonces)) == len(pages)
    assert f'nonce="{nonces[0]}"' in pages[0].text


def test_pages_load_nothing_from_elsewhere_and_have_no_styles_of_their_own(desk: RunningDesk) -> None:
    for path in ("/", "/home", "/undo"):
        page = desk.get(path).text
        assert not re.search(r'(?:src|href|action)="(?:https?:)?//', page)
        assert not re.search(r"\sstyle=|\son\w+=|<style", page)


def test_two_hundred_connections_that_say_nothing_do_not_stop_it(desk: RunningDesk) -> None:
    with ExitStack() as wires:
        for number in range(200):
            wire = wires.enter_context(closing(socket.create_connection(("127.0.0.1", desk.desk.port))))
            wire.sendall([b"", b"G", b"GET / HTTP/1.1\r\nHost: "][number % 3])
        assert desk.get("/undo").status == 200
        assert desk.post("/undo/last", {}).status == 200


def test_connections_that_say_nothing_are_closed_after_a_while(
    desk: RunningDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 0.2)
    with ExitStack() as wires:
        opened = [
            wires.enter_context(closing(socket.create_connection(("127.0.0.1", desk.desk.port), timeout=5)))
            for _ in range(5)
        ]
        for wire in opened:
            wire.sendall(b"GET / HTTP/1.1\r\n")
        for wire in opened:
            try:
                assert wire.recv(100) == b""
            except ConnectionResetError:
                continue


def test_of_too_many_connections_those_that_said_nothing_go(
    desk: RunningDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "MOST", 20)
    with ExitStack() as wires:
        for _ in range(30):
            wires.enter_context(closing(socket.create_connection(("127.0.0.1", desk.desk.port))))
        assert desk.get("/undo").status == 200
        assert len(desk.desk._server.server_state.connections) <= 21


def test_a_connection_is_used_for_several_requests(
    desk: RunningDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "PATIENCE", 0.1)
    connection = http.client.HTTPConnection("127.0.0.1", desk.desk.port, timeout=10)
    with closing(connection):
        connection.request("GET", "/own/desk.css", headers={"Cookie": desk.cookie})
        first = connection.getresponse()
        first.read()
        wire = connection.sock
        for _ in range(4):
            time.sleep(0.04)
            connection.request("GET", "/own/desk.css", headers={"Cookie": desk.cookie})
            connection.getresponse().read()
        assert connection.sock is wire


def test_files_are_given_by_keys_and_only_inside_the_studio(desk: RunningDesk, tmp_path: Path) -> None:
    state = desk.desk.studio
    inside = desk.folder / "given.pdf"
    inside.write_bytes(b"%PDF-1.7 x")
    key = state.give(inside)
    assert state.give(inside) == key
    answer = desk.get(f"/file/{key}")
    assert (answer.body, answer.headers["content-type"]) == (b"%PDF-1.7 x", "application/pdf")
    secret = tmp_path / "secret.pdf"
    secret.write_bytes(b"secret")
    inside.unlink()
    inside.symlink_to(secret)  # it was swapped after the key was given
    assert desk.get(f"/file/{key}").status == 404
