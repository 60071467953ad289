"""Bombs and false claims: shown and cut in bounded time and memory, with an answer or a refusal, never a trace."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Final

import pytest

from tests.hostile.bombs import BOMBS
from tests.hostile.running import MEGABYTES, SECONDS, Ran, run

_LARGE: Final = (
    "as many",
    "as much",
    "a rehearsal mark in every",
    "a part list",
    "a container of a hundred thousand",
)
"""Beginnings of the names of those that take seconds."""


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.long if name.startswith(_LARGE) else ()) for name in BOMBS],
)
def test_a_bomb_does_not_go_off(name: str, tmp_path: Path) -> None:
    make, refusal = BOMBS[name]
    path = tmp_path / ("bomb.mxl" if "container" in name or "member" in name else "bomb.musicxml")
    path.write_bytes(make())
    show, cut = refusal if isinstance(refusal, tuple) else (refusal, refusal)
    commands: list[tuple[str, tuple[str | Path, ...]]] = [
        (cut, ("cut", path, "@2", "--part", "#1", "-o", tmp_path / "cut.musicxml"))
    ]
    if not show or show != cut:  # what cannot be read is refused at the same place
        commands.append((show, ("show", path)))
    for refused, command in commands:
        ran = run(tmp_path, *command)
        _told(name, ran)
        assert ran.seconds < SECONDS
        assert ran.megabytes < MEGABYTES
        assert ran.status in (0, 2), ran.err[-2000:]
        assert "Traceback" not in ran.err
        assert ran.status == (2 if refused else 0), ran.err[-300:]
        assert re.search(refused, ran.err)
        assert len(ran.err) < 2000
        assert len(ran.out) < 200_000


def _told(name: str, ran: Ran) -> None:
    """Where a table of costs is wanted: HOSTILE_TABLE names the file that it goes into."""
    if table := os.environ.get("HOSTILE_TABLE"):
        with Path(table).open("a", encoding="utf-8") as file:
            said = (
                ran.err.strip().splitlines()[-1][-110:]
                if ran.err.strip()
                else ran.out.strip().splitlines()[-1][:60]
            )
            file.write(f"| {name} | {ran.status} | {ran.seconds:.2f} s | {ran.megabytes:.0f} MB | {said} |\n")
