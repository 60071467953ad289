"""Processes that do orders: each is answered once, also when its process dies. Tier: default."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from excerpts.studio.builders import Answer, Builders, Halt, HaltedError


@pytest.fixture(autouse=True)
def tests_can_be_imported(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))


def _builders(jobs: int, longest: int = 30) -> Builders:
    return Builders(jobs, "tests.studio.ordered", longest)


def _answers(jobs: int, *orders: str, longest: int = 30) -> dict[int, Answer]:
    with _builders(jobs, longest) as builders:
        answers = list(builders.run([{"do": order} for order in orders]))
    assert len(answers) == len(orders)
    return dict(answers)


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


@pytest.mark.slow
@pytest.mark.parametrize("late", ["spin", "hang"])
def test_what_takes_too_long_is_ended(late: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("excerpts.system.child.process._PATIENCE", 3)
    answers = _answers(2, late, "work", "work", longest=1)
    assert answers[0] == {"failed": "it took more than 1 seconds and was stopped."}
    assert "failed" not in answers[1] | answers[2]


def test_leaving_in_the_middle_ends_the_processes() -> None:
    builders = _builders(2)

    def interrupted() -> None:
        with builders:
            for _ in builders.run([{"do": "work"}, {"do": "hang"}, {"do": "hang"}]):
                raise KeyboardInterrupt

    start = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert time.monotonic() - start < 30
    assert all(child._process is None for child in builders.children)


def test_halting_ends_all_work_and_no_more_answers_come() -> None:
    halt, began, builders = Halt(), time.monotonic(), _builders(2)

    def work() -> None:
        with builders, halt.by(builders.halt):
            for _ in builders.run([{"do": order} for order in ("work", "hang", "hang", "hang")]):
                halt.now()

    with pytest.raises(HaltedError):
        work()
    assert time.monotonic() - began < 20  # and not a minute
    assert not any(thread.is_alive() for thread in builders._threads)
    with pytest.raises(HaltedError), halt.by(lambda: None):
        raise AssertionError("what is halted does not begin")


def test_what_an_order_tells_comes_before_its_answer() -> None:
    told: list[tuple[int, object]] = []
    with Builders(1, "tests.studio.ordered", news=lambda place, news: told.append((place, news))) as builders:
        for place, _ in builders.run([{"do": "work"}, {"do": "tell"}]):
            told.append((place, "answer"))
    assert told == [(0, "answer"), (1, ["box", 1, 2]), (1, ["box", 2, 2]), (1, "answer")]
