"""What the desk refuses: every rule alone, by requests that are right but for one thing."""

from __future__ import annotations

import json

import pytest

from tests.desk.running import RunningDesk

BODY = json.dumps({}).encode()


def test_a_page_and_a_write_of_its_own_are_let_through(desk: RunningDesk) -> None:
    assert desk.get("/").status == 200
    answer = desk.post("/undo/last", {})
    assert (answer.status, answer.said) == (200, {"undone": None})


@pytest.mark.parametrize(
    ("changed", "status"),
    [
        ({"Cookie": ""}, 403),
        ({"Origin": "http://127.0.0.1"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Content-Type": "text/plain"}, 415),
        ({"Content-Type": "application/json; charset=utf-8"}, 415),
        ({"Host": "evil.test"}, 421),
        ({"Host": "127.0.0.1"}, 421),
        ({"Host": "127.0.0.1:1"}, 421),
        ({"Content-Length": "99999999"}, 413),
    ],
)
def test_a_write_with_one_thing_wrong_is_refused(
    desk: RunningDesk, changed: dict[str, str], status: int
) -> None:
    answer = desk.ask("POST", "/undo/last", BODY, desk.write_headers() | changed)
    assert answer.status == status
    assert answer.headers["connection"] == "close"
