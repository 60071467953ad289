"""Characters that no face has: one sentence of our own tells which and where; no library is heard (default tier)."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.log.weeks import HEAD
from tests.music import bars_of

ROOT = Path(__file__).resolve().parent.parent.parent

BIRD = "\U00013171"
"""An Egyptian hieroglyph: no face that we ship has one, nor the system's of the tests."""
NOBODY = "\u0378"
"""A code point that Unicode 15 gives to no character."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    words = f"<direction><direction-type><words>dolce {BIRD}</words></direction-type></direction>"
    head = f"<work><work-title>Evening {NOBODY}</work-title></work><part-list>"
    score = bars_of("C5:1 D5:1 E5:1 F5:1", f"{words} G5:4").decode().replace("<part-list>", head)
    (tmp_path / "odd.musicxml").write_text(score, encoding="utf-8")
    (tmp_path / "plain.musicxml").write_bytes(bars_of("C5:1 D5:1 E5:1 F5:1", "G5:4"))
    return tmp_path


def ran(folder: Path, *arguments: str) -> list[str]:
    """Run a command in a process of its own, and give what it says on the error stream."""
    code = "import sys; from excerpts.cli import main; sys.exit(main(sys.argv[1:]))"
    environment = os.environ | {"XDG_CACHE_HOME": str(folder / "cache"), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        cwd=folder,
        env=environment,
        check=True,
    )
    return done.stderr.splitlines()


@pytest.mark.slow
@pytest.mark.parametrize("name", ["out.svg", "out.pdf"])
def test_each_character_is_told_once_with_its_place(folder: Path, name: str) -> None:
    lines = ran(folder, "cut", "odd.musicxml", "1-2", "-o", name)
    (bird,) = [line for line in lines if BIRD in line]
    assert bird == (
        f'excerpts: no font has "{BIRD}" (U+13171), in "dolce {BIRD}", bar 2: it may print as an empty box.'
    )
    (nobody,) = [line for line in lines if NOBODY in line]
    assert nobody.startswith(f'excerpts: no font has "{NOBODY}" (U+0378), in "Evening {NOBODY}, bars 1–2"')
    assert len(lines) == 2


@pytest.mark.slow
@pytest.mark.parametrize("name", ["out.svg", pytest.param("out.pdf", marks=pytest.mark.long)])
def test_nothing_is_said_where_every_character_has_a_face(folder: Path, name: str) -> None:
    assert ran(folder, "cut", "plain.musicxml", "1-2", "-o", name) == []


@pytest.mark.slow
def test_a_workbook_tells_the_page_and_the_bar(folder: Path) -> None:
    boxes = (
        '[[piece]]\nid = "odd"\ntitle = "Odd"\nscore = "odd.musicxml"\n[[box]]\nid = "run"\npiece = "odd"\n'
    )
    note = f'bars = "2"\nnote = "like {NOBODY} a bird"\n'
    (folder / "ada.toml").write_text(HEAD + boxes + note, encoding="utf-8")
    said = ran(folder, "workbook", "ada.toml", "-o", "ada.pdf")
    lines = [line for line in said if "no font" in line or "glyph" in line]
    assert len(lines) == 2
    assert any(f'"dolce {BIRD}", bar 2' in line for line in lines)
    assert any(NOBODY in line and ", page " in line for line in lines)
