"""Drills and scales in the technique section of a workbook. Tier: slow."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.week import load_week
from excerpts.workbook import build_workbook
from tests.pdf_text import text_of
from tests.week.weeks import HEAD, write

pytestmark = pytest.mark.slow

BOX = (
    '[[box]]\nid = "leap"\nwhy = ["crossing"]\nabc = """\nM:4/4\nL:1/4\nK:D\nD B D B | D F A d | d4 |\n"""\n'
    '[[piece]]\nid = "paper"\ntitle = "Paper"\n[[box]]\nid = "paper"\npiece = "paper"\nplace = "p. 3"\n'
)
TECHNIQUE = (
    '[[technique]]\ndrill = "leap"\n[[technique]]\ndrill = "paper"\n'
    '[[technique]]\nkey = "Bb"\npattern = "thirds"\noctaves = 1\nslur = 2\nnote = "Lower note first."\n'
)


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    week = load_week(write(tmp_path_factory.mktemp("week"), HEAD + BOX + TECHNIQUE))
    return text_of(build_workbook(week).pdf)


def test_the_drill_of_a_box_is_printed_in_notes(text: str) -> None:
    assert "Box 1: the crossing alone From bar 1." in text
    assert "The strings are a guess" in text
    assert "Box 1: the widest leap" in text


def test_a_drill_that_its_box_cannot_give_is_not_spoken_of(tmp_path: Path) -> None:
    steps = BOX.replace("D B D B | D F A d | d4 |", "D D E E | F F E E | D4 |")
    built = build_workbook(load_week(write(tmp_path, HEAD + steps + TECHNIQUE)))
    assert "Box 1 as a drill" not in text_of(built.pdf)
    assert any('The box "leap" gives no drill' in fault.message for fault in built.told)


def test_a_box_on_paper_has_no_drill_in_notes(text: str) -> None:
    assert "Box 2 as a drill" in text
    assert "Box 2: the" not in text


def test_a_scale_under_technique_says_how_it_is_played(text: str) -> None:
    assert "B-flat major in thirds, one octave Lower note first. 2 notes to a bow." in text
