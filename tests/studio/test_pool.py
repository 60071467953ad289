"""Processes that do orders: each is answered once, also when its process dies. Tier: default."""

from __future__ import annotations

import sys
import time

import pytest

from excerpts.studio.pool import Answer, Pool

CODE = """
import json, os, sys, time
for line in sys.stdin:
    order = json.loads(line)
    if order["do"] == "die":
        print("the reason", file=sys.stderr, flush=True)
        os.kill(os.getpid(), 9)
    if order["do"] == "leave":
        sys.exit(3)
    if order["do"] == "hang":
        time.sleep(60)
    if order["do"] == "long":
        order["text"] = "x" * 3_000_000
    print(json.dumps({"pid": os.getpid(), **order}), flush=True)
"""


def _answers(jobs: int, *orders: str, longest: float = 30.0) -> dict[int, Answer]:
    with Pool(jobs, [sys.executable, "-S", "-c", CODE], longest) as pool:
        found = list(pool.run([{"do": order} for order in orders]))
    assert len(found) == len(orders)
    return dict(found)


def test_every_order_is_answered(capfd: pytest.CaptureFixture[str]) -> None:
    answers = _answers(3, *["work"] * 20)
    assert sorted(answers) == list(range(20))
    assert 1 <= len({answer["pid"] for answer in answers.values()}) <= 3
    assert capfd.readouterr() == ("", "")


def test_no_orders_need_no_process() -> None:
    assert _answers(2) == {}


def test_a_long_answer_comes_whole() -> None:
    assert len(_answers(1, "long", "work")[0]["text"]) == 3_000_000


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_process_that_dies_takes_only_its_order_along(jobs: int) -> None:
    answers = _answers(jobs, "work", "die", "work", "leave", "die", "work")
    assert sorted(place for place, answer in answers.items() if "failed" not in answer) == [0, 2, 5]
    assert "signal 9: the reason" in answers[1]["failed"]
    assert "status 3" in answers[3]["failed"]


def test_what_takes_too_long_is_ended() -> None:
    start = time.monotonic()
    answers = _answers(2, "hang", "work", "work", longest=3.0)
    assert "longer than 3 seconds" in answers[0]["failed"]
    assert "failed" not in answers[1]
    assert time.monotonic() - start < 30


def test_leaving_in_the_middle_ends_the_processes() -> None:
    pool = Pool(2, [sys.executable, "-S", "-c", CODE])

    def interrupted() -> None:
        with pool:
            for _ in pool.run([{"do": "work"}, {"do": "hang"}, {"do": "hang"}]):
                raise KeyboardInterrupt

    start = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert time.monotonic() - start < 30
    assert all(worker.process.returncode is not None for worker in pool._workers)
