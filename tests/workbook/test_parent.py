"""What a grown-up at home can listen for stands with each box of a child, and with no one else's."""

import re
from pathlib import Path
from shutil import copytree

import pytest

from excerpts.system.resources import scores
from excerpts.variants import title
from excerpts.week import load_week
from excerpts.words import Words
from excerpts.workbook import build_workbook
from excerpts.workbook.page_texts import PageTexts
from tests.pdf_text import text_of


@pytest.mark.slow
@pytest.mark.parametrize(
    ("player", "said"),
    [
        ("mila", ["notes that ring.", "a clean change of string, without a bump."]),
        ("jonas", []),
    ],
)
def test_a_child_s_boxes_say_what_a_grown_up_can_listen_for(player: str, said: list[str]) -> None:
    week = load_week(scores() / "weeks" / f"{player}-week-49.toml")
    text = text_of(build_workbook(week, only=["boxes"]).pdf)
    assert text.count("For the grown-up: listen for") == len(said)
    assert all(f"listen for {what}" in text for what in said)


@pytest.mark.slow
def test_a_child_has_no_circles_for_a_light_day(tmp_path: Path) -> None:
    """On the light day before a performance the box is played once, at no tempo."""
    folder = tmp_path / "scores"
    copytree(str(scores()), folder)
    path = folder / "weeks" / "mila-week-49.toml"
    path.write_text(path.read_text().replace("date = 2026-12-12", "date = 2026-12-06"))
    text = text_of(build_workbook(load_week(path)).pdf)
    given = re.findall(r"(Mon 30|Wed 2|Fri 4|Sat 5)\W+(\d+)", text)
    assert given == [("Mon 30", "48"), ("Wed 2", "52"), ("Fri 4", "56")]


@pytest.mark.parametrize("language", ["uk", "us", "de"])
def test_a_child_is_told_of_short_notes_without_pulses(language: str) -> None:
    """A pulse is a grown-up's word: neither the heading nor what is to be done has it."""
    words = Words(language)
    said = f"{title('subdivide', words)} {PageTexts(words, child=True).variant('subdivide')}"
    assert "puls" not in said.lower()
