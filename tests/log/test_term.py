"""Slow tier: a simulated term of twelve weeks for six invented players, next week after next week.

With missed lessons, empty logs and half-filled papers it never dead-ends, never loses a box, and ends with boxes
retired. `python -m tests.log.term` prints the story.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.log.term import WEEKS, whole_term


@pytest.mark.slow
def test_a_term_of_one_player(tmp_path: Path) -> None:
    term, story = next(whole_term(tmp_path))
    assert len(list((tmp_path / term.path.parent.name).glob("week-*.toml"))) == WEEKS + 1
    assert term.last.retired, story


@pytest.mark.long
def test_a_term_of_six_players(tmp_path: Path) -> None:
    told: list[str] = []
    for term, story in whole_term(tmp_path):
        told += story
        folder = tmp_path / term.path.parent.name
        assert len(list(folder.glob("week-*.toml"))) == WEEKS + 1
        assert term.last.retired, story
    events = "\n".join(told)
    for seen in (
        "no lesson",
        "came home empty",
        "retired",
        "passed check",
        "as you chose",
        "joins the review pieces",
        "ticked in the list (7 of 7)",
        "bars 1–2: workbook of 11 September, page 2, is there",
    ):
        assert seen in events
