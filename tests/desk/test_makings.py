"""What takes long: it is told in words what is going on, others wait their turn, and it can be stopped."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread
from typing import Any

import pytest

from excerpts.desk.makings import Making, Makings
from excerpts.errors import InputError
from excerpts.studio.builders import Halt
from excerpts.studio.run import _alone
from excerpts.system.cache import Store, cache_folder
from excerpts.words import Words
from tests.desk.running import RunningDesk


def _over(making: Making) -> dict[str, Any]:
    deadline = time.monotonic() + 20
    while not making.over and time.monotonic() < deadline:
        time.sleep(0.005)
    return making.events[-1]


def test_what_is_going_on_is_told_in_the_words_of_the_studio() -> None:
    def work(making: Making) -> dict[str, Any]:
        making.progress.step(None, "box", 3, 5)  # type: ignore[arg-type]
        return {"said": "done"}

    made = Makings()
    making = made.get(made.start(Words("de"), work))
    assert _over(making) == {"end": True, "said": "done"}
    assert [event.get("now") for event in making.events] == [
        "Es geht los …",
        "Kasten 3 von 5 wird gestochen …",
        None,
    ]


def test_a_fault_is_told_at_the_end() -> None:
    def work(_making: Making) -> dict[str, Any]:
        raise InputError("no such bars.", where="ada.toml")

    made = Makings()
    assert _over(made.get(made.start(Words(), work))) == {"end": True, "failed": "ada.toml: no such bars."}


def test_what_is_stopped_ends_and_says_so() -> None:
    ended = Event()

    def work(making: Making) -> dict[str, Any]:
        with making.halt.by(ended.set):
            assert ended.wait(20)
        return {"said": "done"}

    made = Makings()
    making = made.get(made.start(Words(), work))
    making.halt.now()
    assert _over(making) == {"end": True, "stopped": "Stopped."}


@contextmanager
def _another_build(desk: RunningDesk) -> Iterator[None]:
    """Hold the studio as a build does that goes on for long."""
    begun, over = Event(), Event()

    def build() -> None:
        with _alone(desk.folder, Store(cache_folder()), lambda: None, Halt()):
            begun.set()
            over.wait(60)

    thread = Thread(target=build)
    thread.start()
    assert begun.wait(20)
    yield
    over.set()
    thread.join(20)


@pytest.mark.parametrize("page", ["week", "lesson"])
def test_a_workbook_that_waits_for_another_build_says_so_and_can_be_stopped(
    desk: RunningDesk, page: str
) -> None:
    key = next(one.key for one in desk.desk.studio.players() if one.name == "Mila")
    path, said = ("make", {"what": "workbook"}) if page == "week" else ("print", {})
    with _another_build(desk):
        job = desk.post(f"/{page}/{key}/{path}", said).said["job"]
        told = []
        for event in desk.telling(job):
            told.append(event)
            if "something else is being built" in event.get("now", ""):
                assert desk.post(f"/making/{job}/stop", {}).status == 200
    assert told[2:] == [{"end": True, "stopped": "Stopped."}]
    assert not list(desk.folder.glob("*.pdf"))


@pytest.mark.slow
def test_a_workbook_tells_what_is_being_done(desk: RunningDesk) -> None:
    key = next(one.key for one in desk.desk.studio.players() if one.name == "Mila")
    for what, name in (("workbook", "mila-2026-11-30.pdf"), ("only_boxes", "mila-2026-11-30-only-boxes.pdf")):
        *steps, end = desk.made(f"/week/{key}/make", {"what": what})
        said = [step["now"] for step in steps]
        assert said == [
            "Beginning …",
            "Reading the scores, writing the variants …",
            "Engraving box 1 of 1 …",
            "Engraving warm-ups and technique …",
            "Laying out the pages …",
        ]
        assert name in end["said"]
        assert desk.get(end["file"]).body.startswith(b"%PDF")
    assert desk.post("/making/nothing/stop", {}).status == 404
