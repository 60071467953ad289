"""A child that hangs, crashes or fills the memory is told of in words, and the next request finds a new one."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from excerpts.system.child import Child, ChildDiedError

ROOT = Path(__file__).parents[2]


@pytest.fixture
def child(monkeypatch: pytest.MonkeyPatch) -> Iterator[Child]:
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    made = Child("tests.system.misbehaving", megabytes=200)
    yield made
    made.stop()


def test_it_answers_again_and_again_from_one_process(child: Child) -> None:
    child.start()
    assert child.ask(b"a", b"", b"x" * 300_000) == [b"done", b"a", b"", b"x" * 300_000]
    first = child._process
    assert child.ask(b"b") == [b"done", b"b"]
    assert child._process is first


@pytest.mark.parametrize(
    ("request_", "said"),
    [
        pytest.param(b"spin", "took more than 1 seconds and was stopped", marks=pytest.mark.slow),
        (b"crash", "needed more than 200 MB of memory, or broke down"),
        (b"fill", "needed more than 200 MB of memory, or broke down"),
    ],
)
def test_what_kills_it_is_told_and_the_next_request_is_answered(
    child: Child, request_: bytes, said: str
) -> None:
    with pytest.raises(ChildDiedError) as error:
        child.ask(request_, seconds=1)
    assert error.value.reason == said
    assert child.ask(b"a") == [b"done", b"a"]


@pytest.mark.slow
def test_the_seconds_are_those_of_one_request(child: Child) -> None:
    child.ask(b"a", seconds=1)
    time.sleep(1.2)  # waiting is not working
    assert child.ask(b"a", seconds=1) == [b"done", b"a"]


@pytest.mark.slow
def test_one_that_waits_for_ever_is_stopped_too(child: Child, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("excerpts.system.child.process._PATIENCE", 1)
    with pytest.raises(ChildDiedError) as error:
        child.ask(b"sleep", seconds=1)
    assert error.value.reason == "took more than 1 seconds and was stopped"
    assert child.ask(b"a") == [b"done", b"a"]


@pytest.mark.slow
def test_the_patience_is_that_of_one_request(child: Child, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("excerpts.system.child.process._PATIENCE", 1)
    child.ask(b"a", seconds=1)
    time.sleep(1.2)  # nobody waits for an answer
    assert child.ask(b"a", seconds=60) == [b"done", b"a"]
    with pytest.raises(ChildDiedError) as error:  # sooner than that of the request before
        child.ask(b"sleep", seconds=1)
    assert error.value.reason == "took more than 1 seconds and was stopped"
    assert child.ask(b"a", seconds=1) == [b"done", b"a"]


def test_limits_that_the_parent_has_are_no_hindrance(child: Child) -> None:
    code = (
        "import resource; resource.setrlimit(resource.RLIMIT_CPU, (5, 5))\n"
        "resource.setrlimit(resource.RLIMIT_AS, (150_000_000, 150_000_000))\n"
        "from excerpts.system.child import Child\n"
        "print(Child('tests.system.misbehaving', megabytes=200).ask(b'a'))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[b'done', b'a']\n"


def test_what_a_library_prints_is_no_answer(child: Child) -> None:
    assert child.ask(b"print") == [b"done", b"print"]


def test_one_that_has_no_more_to_do_ends_at_once_and_is_not_killed(child: Child) -> None:
    child.ask(b"a")
    process = child._process
    assert process is not None
    child.stop()
    assert process.returncode == 0


def test_it_is_gone_when_its_parent_is(tmp_path: Path) -> None:
    code = (
        "from excerpts.system.child import Child\n"
        "child = Child('tests.system.misbehaving', megabytes=200)\n"
        "child.ask(b'a')\nprint(child._process.pid, flush=True)\n"
        "import os; os._exit(9)\n"
    )
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment)
    state = Path("/proc") / done.stdout.strip() / "stat"
    for _ in range(500):
        # One that nobody waits for any more stays as a zombie until init takes it.
        if not state.exists() or state.read_text().rpartition(")")[2].split()[0] == "Z":
            return
        time.sleep(0.01)
    pytest.fail("the child outlived its parent by five seconds")


def test_a_module_in_the_folder_that_we_stand_in_is_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "verovio.py").write_text("raise SystemExit('run!')")
    monkeypatch.chdir(tmp_path)
    from excerpts.engrave.verovio_page import ENGRAVER, draw

    ENGRAVER.stop()
    with pytest.raises(Exception, match="could not draw"):
        draw(b"<score-partwise/>", 1000, natural=True)
