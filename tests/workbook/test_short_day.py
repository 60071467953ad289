"""On a short day the week's table says which few bars of a study are played."""

from pathlib import Path
from shutil import copytree

import pytest

from excerpts.system.resources import scores
from excerpts.week import load_week
from excerpts.workbook import build_workbook
from tests.pdf_text import page_texts


@pytest.mark.slow
def test_the_few_bars_of_a_study_stand_on_the_short_day(tmp_path: Path) -> None:
    folder = tmp_path / "scores"
    copytree(str(scores()), folder)
    path = folder / "weeks" / "noor-week-49.toml"
    text = path.read_text().replace('bars = "1-3"', 'bars = "1-8"').replace("thu = 75", "thu = 25")
    path.write_text(text)
    words = page_texts(build_workbook(load_week(path), only=["plan"]).pdf)[0]
    assert words.count("Weir, bars") == 1
    assert words.count("2–3 ") == 1
    assert "The Weir 6 min" in words
