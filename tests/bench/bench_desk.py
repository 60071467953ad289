"""What the desk costs: `python -m tests.bench.bench_desk [FOLDER]`; without a folder on a studio of forty players.

Of one process: from its start to the first page, then each page again, and a save; on the clock, and of the processor,
which other work on the machine disturbs least. Goals, on an idle machine: the first page 1 s after the start, forty
players listed in 300 ms, a save in 100 ms.

Found on two x86-64 cores that were busy with other work, of the processor (Python 3.11.7, starlette 1.10, uvicorn
0.54): from the start to the first page 1.0 s, 40 players listed again 0.12 s (25 kB), what goes home 0.15 s, what was
saved 3 ms, a new player 11 ms; a save 15 to 40 ms on the clock.
"""

from __future__ import annotations

import http.client
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from threading import Thread

from tests.studio.small import studio, week

_DAYS = ("mon", "tue", "wed", "thu", "fri")
_TIMES = 5


def forty(folder: Path) -> Path:
    """A studio of forty players with logs."""
    studio(folder)
    for number in range(40):
        name = f"Player {number:02} Ashby"
        lesson = f"{_DAYS[number % 5]} {9 + number // 5}:00"
        week(folder, name, lesson=lesson, file=f"player-{number:02}.toml")
        rows = "".join(f"2026-11-30,2026-12-0{day},box,a,60,crotchet,{day},2,\n" for day in range(1, 6))
        head = f"week,date,kind,box,tempo,unit,clean,bars,note\n,,player,,,,,,{name}\n"
        (folder / f"player-{number:02}-ashby-log.csv").write_text(head + rows, encoding="utf-8")
    return folder


def once(folder: Path) -> None:
    """Serve one desk in this process, and print what its pages took."""
    from excerpts.desk.guards import cookie_name
    from excerpts.desk.server import Desk

    with Desk(folder) as desk:
        Thread(target=desk.run, daemon=True).start()
        headers = {
            "Cookie": f"{cookie_name(desk.port)}={desk.cookie}",
            "Origin": f"http://127.0.0.1:{desk.port}",
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
        }

        def ask(path: str, said: dict[str, str] | None = None) -> tuple[float, float, int]:
            began, worked = time.perf_counter(), time.process_time()
            connection = http.client.HTTPConnection("127.0.0.1", desk.port)
            body = None if said is None else json.dumps(said).encode()
            connection.request("POST" if said else "GET", path, body, headers)
            size = len(connection.getresponse().read())
            connection.close()
            return time.process_time() - worked, time.perf_counter() - began, size

        size = ask("/")[-1]
        clock = time.time() - float(os.environ["BEGAN"])
        print(
            f"start to first page: {clock:.2f} s, of the processor {time.process_time():.2f} s, {size} bytes"
        )
        ask("/home")  # the other pages are loaded by then
        for path in ("/", "/home", "/undo", "/own/desk.css", "/own/desk.mjs"):
            print(f"{path}: {_said([ask(path) for _ in range(_TIMES)])}")
        said = {"instrument": "violin", "level": "lower", "lesson": "2026-12-01", "minutes": "20"}
        made = [ask("/studio/player", said | {"name": f"New Player {number}"}) for number in range(_TIMES)]
        print(f"a new player: {_said(made)}")
        saving = desk.studio.saves
        saved = folder / "saved.toml"
        began = time.perf_counter()
        for number in range(_TIMES):
            saving.save(saved, saving.show(saved).digest, f"# {number}\n".encode() * 200, what="a save")
        print(f"a save: {(time.perf_counter() - began) / _TIMES * 1000:.0f} ms")
        desk.stop()


def _said(took: list[tuple[float, float, int]]) -> str:
    """The least of several times."""
    worked, clock = (min(times) * 1000 for times in list(zip(*took, strict=True))[:2])
    return f"{worked:.0f} ms of the processor, {clock:.0f} ms on the clock, {took[0][-1]} bytes"


def main() -> None:
    """Make the studio, and measure in a process of its own."""
    if len(sys.argv) > 2:
        once(Path(sys.argv[2]))
        return
    with tempfile.TemporaryDirectory() as place:
        folder = Path(sys.argv[1]) if len(sys.argv) > 1 else forty(Path(place) / "studio")
        for _ in range(2):  # the second finds what the first has kept of whose each file is
            env = {**os.environ, "XDG_DATA_HOME": place, "XDG_CACHE_HOME": place, "BEGAN": str(time.time())}
            command = [sys.executable, "-m", "tests.bench.bench_desk", "once", str(folder)]
            subprocess.run(command, env=env, check=True)


if __name__ == "__main__":
    main()
