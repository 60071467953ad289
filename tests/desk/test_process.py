"""The desk as a process: how it opens the browser, how it ends, and what is left when it is killed."""

from __future__ import annotations

import http.client
import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from excerpts.desk.saves import Saves
from excerpts.desk.start_file import start_file
from excerpts.desk.user_data import studio_folder

COMMAND = [sys.executable, "-c", "import sys; from excerpts.cli import run; sys.exit(run())", "desk"]


@pytest.mark.slow
def test_the_secret_is_in_no_list_of_processes(folder: Path, tmp_path: Path) -> None:
    """The browser is opened with a file that only the user may read; it is gone when the desk has ended."""
    told = tmp_path / "told"
    browser = tmp_path / "browser"
    look = (
        f'stat -c "%a" "${{1#file://}}" >{told}.new; cat "${{1#file://}}" >>{told}.new; mv {told}.new {told}'
    )
    browser.write_text(f"#!/bin/sh\n{look}\nsleep 3 >/dev/null\n")
    browser.chmod(0o755)
    with subprocess.Popen(
        [*COMMAND, str(folder)],
        env={**os.environ, "BROWSER": f"{browser} %s"},
        stdout=subprocess.PIPE,
        text=True,
    ) as desk:
        try:
            while not told.exists():
                assert desk.poll() is None
                time.sleep(0.05)
            mode, page = told.read_text().split("\n", 1)
            (secret,) = re.findall(r'href="http://127\.0\.0\.1:\d+/start/([\w-]{40,})"', page)
            lines = [line for line in _command_lines() if secret in line]
            assert lines == []
            assert any("/start-" in line for line in _command_lines())
            assert mode == "600"
        finally:
            desk.send_signal(signal.SIGINT)
        said, _ = desk.communicate(timeout=20)
    assert desk.returncode == 0
    assert "The desk is closed." in said
    assert list(Path(os.environ["XDG_DATA_HOME"]).rglob("start-*")) == []


def _command_lines() -> Iterator[str]:
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            yield path.read_bytes().decode(errors="replace")
        except OSError:
            continue  # it has ended meanwhile


def test_what_a_killed_desk_has_left_is_taken_away_and_what_a_running_one_has_stays() -> None:
    with start_file("http://127.0.0.1:1/start/one", 1) as running:
        left = running.with_name("start-2.html")
        left.write_text("secret")
        with start_file("http://127.0.0.1:3/start/three", 3) as third:
            assert sorted(path.name for path in third.parent.glob("start-*")) == [
                "start-1.html",
                "start-3.html",
            ]
            assert third.stat().st_mode & 0o777 == 0o600
    assert not list(running.parent.glob("start-*"))


@contextmanager
def opened(folder: Path) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """A desk in a process of its own: the process, its address and its cookie."""
    with subprocess.Popen(
        [*COMMAND, str(folder), "--no-browser"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as desk:
        assert desk.stdout is not None
        start = desk.stdout.readline().strip()
        host, path = start.removeprefix("http://").split("/", 1)
        connection = http.client.HTTPConnection(host, timeout=20)
        connection.request("GET", f"/{path}")
        cookie = connection.getresponse().headers["Set-Cookie"].partition(";")[0]
        connection.close()
        try:
            yield desk, host, cookie
        finally:
            if desk.poll() is None:
                desk.kill()
            desk.communicate()


@pytest.mark.slow
def test_control_c_ends_it_without_a_trace(folder: Path) -> None:
    with opened(folder) as (desk, host, cookie):
        connection = http.client.HTTPConnection(host, timeout=20)
        connection.request("GET", "/undo", headers={"Cookie": cookie})
        answer = connection.getresponse()
        assert (answer.status, b"</html>" in answer.read()) == (200, True)
        desk.send_signal(signal.SIGINT)
        said, faults = desk.communicate(timeout=20)
        assert (desk.returncode, faults) == (0, "")
        assert "The desk is closed." in said
        connection.close()


@pytest.mark.slow
def test_control_c_in_the_middle_of_a_build_leaves_no_process(folder: Path) -> None:
    with opened(folder) as (desk, host, cookie):
        headers = {
            "Cookie": cookie, "Origin": f"http://{host}", "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
        }  # fmt: skip
        connection = http.client.HTTPConnection(host, timeout=20)
        connection.request("POST", "/studio/build", b"{}", headers)
        answer = connection.getresponse()
        assert (answer.status, answer.read()) == (200, b"{}")
        connection.close()
        deadline = time.monotonic() + 30
        while not (builders := _children(desk.pid)) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert builders
        desk.send_signal(signal.SIGINT)
        _, faults = desk.communicate(timeout=30)
        assert (desk.returncode, faults) == (0, "")
        deadline = time.monotonic() + 10
        while any(Path(f"/proc/{child}").exists() for child in builders) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not [child for child in builders if Path(f"/proc/{child}").exists()]


def _children(pid: int) -> list[str]:
    """The processes that any thread of a process has started."""
    lists = [path.read_text() for path in Path(f"/proc/{pid}/task").glob("*/children")]
    return [child for text in lists for child in text.split()]


def _killed_while_saving(folder: Path, wait: float, seed: int) -> int:
    """Save one file after another, kill the desk at some moment; how many saves it had confirmed."""
    confirmed: dict[str, bytes] = {}
    with opened(folder) as (desk, host, cookie):
        connection = http.client.HTTPConnection(host, timeout=20)
        headers = {
            "Cookie": cookie, "Origin": f"http://{host}", "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
        }  # fmt: skip
        killer = subprocess.Popen(["sh", "-c", f"sleep {wait}; kill -9 {desk.pid}"])
        number = 0
        try:
            while True:
                name = f"Player {seed} {number}"
                said = {
                    "name": name, "instrument": "violin", "level": "lower", "lesson": "2026-12-01", "minutes": "20",
                }  # fmt: skip
                connection.request("POST", "/studio/player", json.dumps(said).encode(), headers)
                answer = connection.getresponse()
                answer.read()
                assert answer.status == 200
                confirmed[name] = (folder / f"player-{seed}-{number}-2026-12-01.toml").read_bytes()
                number += 1
        except (OSError, http.client.HTTPException):
            pass  # it was killed
        finally:
            killer.wait()
            connection.close()
    for name, text in confirmed.items():
        path = folder / f"{name.lower().replace(' ', '-')}-2026-12-01.toml"
        assert path.read_bytes() == text
        assert text.endswith(b'key = "G"\n')
    for path in folder.glob("player-*.toml"):
        assert path.read_bytes().endswith(b'key = "G"\n'), "a file is there whole or not at all"
    steps = Saves(folder, studio_folder(folder)).steps()
    listed = {step.what.partition(":")[0] for step in steps}
    assert set(confirmed) <= listed
    return number


@pytest.mark.slow
def test_ten_kills_lose_nothing_that_was_confirmed(folder: Path) -> None:
    draw = random.Random(10)
    assert sum(_killed_while_saving(folder, draw.uniform(0.01, 0.4), seed) for seed in range(10)) > 0


@pytest.mark.long
def test_two_hundred_kills_lose_nothing_that_was_confirmed(folder: Path) -> None:
    draw = random.Random(200)
    assert sum(_killed_while_saving(folder, draw.uniform(0.0, 0.6), seed) for seed in range(200)) > 100


def test_a_shortcut_starts_this_program_on_this_folder(folder: Path) -> None:
    from excerpts.cli import main

    odd = folder / 'my "studio" 100 % $HOME'
    odd.mkdir()
    assert main(["desk", str(odd), "--shortcut"]) == 0
    path = Path(os.environ["XDG_DATA_HOME"]) / "applications" / "excerpts-desk.desktop"
    lines = dict(line.split("=", 1) for line in path.read_text().splitlines()[1:])
    # Desktop Entry Specification 1.5: first the escapes of a string, then the quotes of Exec.
    command = lines["Exec"].replace("\\\\", "\\")
    words = [
        re.sub(r"\\(.)", r"\1", word).replace("%%", "%")
        for word in re.findall(r'"((?:[^"\\]|\\.)*)"', command)
    ]
    assert words[-2:] == ["desk", str(odd)]
    assert lines["Terminal"] == "true"
    assert os.access(path, os.X_OK)


def test_a_folder_that_is_a_file_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from excerpts.cli import main

    assert main(["desk", str(folder / "studio.toml")]) == 2
    assert "this is a file, not a folder" in capsys.readouterr().err


def test_a_home_folder_is_no_studio(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from excerpts.cli import main

    (folder / "me").mkdir()
    monkeypatch.setenv("HOME", str(folder / "me"))
    monkeypatch.chdir(folder / "me")
    for arguments in ([], [str(folder)], ["/"]):
        assert main(["desk", *arguments]) == 2
        assert "Name one for the studio" in capsys.readouterr().err
    assert main(["desk", "Studio", "--shortcut"]) == 0
    assert (folder / "me" / "Studio").is_dir()
