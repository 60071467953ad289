"""The store of opened scores: what it keeps, what it reads anew, and several threads at it."""

from __future__ import annotations

import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

import pytest

from excerpts.errors import ScoreError
from excerpts.score import Score, open_score, opened_scores
from excerpts.score.opened_scores import Scores
from tests.music import bars_of


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """The files that are opened, in order."""
    paths: list[Path] = []

    def counted(path: Path) -> Score:
        paths.append(path)
        return open_score(path)

    monkeypatch.setattr(opened_scores, "open_score", counted)
    return paths


def _score(folder: Path, name: str = "air", notes: str = "C4:1 D4:1 E4:1 F4:1") -> Path:
    path = folder / f"{name}.musicxml"
    path.write_bytes(bars_of(notes))
    return path


def test_a_score_stays_open(tmp_path: Path, opened: list[Path]) -> None:
    path, scores = _score(tmp_path), Scores()
    assert scores(path) is scores(path)
    assert opened == [path]


def test_a_file_that_was_written_anew_is_read_anew(tmp_path: Path) -> None:
    path, scores = _score(tmp_path), Scores()
    assert len(scores(path).part().bars) == 1
    path.write_bytes(bars_of("C4:4", "D4:4"))
    assert len(scores(path).part().bars) == 2


def test_a_file_of_the_same_size_and_time_is_told_by_its_place_on_the_disk(tmp_path: Path) -> None:
    """Another file that takes the name of the first, as programs do that write a file whole."""
    path, scores = _score(tmp_path, notes="C4:4"), Scores()
    first = scores(path)
    other = _score(tmp_path, "other", "D4:4")
    shutil.copystat(path, other)
    os.replace(other, path)
    assert scores(path) is not first
    assert scores(path).root.findtext(".//step") == "D"


def test_the_scores_used_last_are_kept(tmp_path: Path, opened: list[Path]) -> None:
    one, two, three = (_score(tmp_path, name) for name in ("one", "two", "three"))
    scores = Scores(most=2)
    for path in (one, two, one, three, one, two):
        scores(path)
    assert opened == [one, two, three, two]


def test_a_file_that_is_gone_or_no_score_is_told_every_time(tmp_path: Path) -> None:
    path, scores = _score(tmp_path), Scores()
    scores(path)
    path.unlink()
    for _ in range(2):
        with pytest.raises(ScoreError, match="no such file"):
            scores(path)
    path.write_text("no score")
    with pytest.raises(ScoreError):
        scores(path)
    _score(tmp_path)
    assert scores(path).part().bars.labels == ("1",)


def test_threads_that_ask_at_once_open_a_file_once(tmp_path: Path, opened: list[Path]) -> None:
    paths = [_score(tmp_path, name) for name in ("one", "two")]
    scores, start = Scores(), Barrier(8)

    def ask(number: int) -> Score:
        start.wait()
        return scores(paths[number % 2])

    with ThreadPoolExecutor(8) as threads:
        asked = list(threads.map(ask, range(8)))
    assert sorted(opened) == sorted(paths)
    assert len(set(map(id, asked))) == 2
