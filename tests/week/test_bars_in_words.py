"""A box has one name: on the plan, on its page, in the log and on the lesson sheet; no address of a file among it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from excerpts.engrave import Style, engrave
from excerpts.log import box_text, log_path, read_log
from excerpts.score import open_score
from excerpts.teacher.lesson_sheet import lesson_sheet
from excerpts.week import Week, load_week
from excerpts.week.bars_in_words import bars_text
from excerpts.week.plan import plan_lines, plan_week
from excerpts.words import Words
from excerpts.workbook.box_pages import BoxPages
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.reader import reader
from excerpts.workbook.workbook_music import Music
from tests.heads import head
from tests.score.test_numbering import BARS, music

MARK = "<direction><direction-type><rehearsal>C</rehearsal></direction-type></direction>"
ADDRESSES = {
    "1-3": "bars 1–3",
    "0-3": "pick-up to bar 3",
    "@4-@6": "bars 3–4 with the pick-up",
    "1:3-2:1": "bar 1, beat 3, to bar 2, beat 1",
    "C": "bars 3–4",
    "C+1": "bar 4",
}


def written(folder: Path, address: str, words: str = "uk") -> Week:
    bars = [(text if number != "3" else f"{MARK} {text}", number) for text, number in BARS]
    (folder / "river.musicxml").write_bytes(music(*bars))
    path = folder / "week.toml"
    path.write_text(
        f"""{head("middle", words=f'"{words}"', minutes="{ every = 40 }")}\
[[piece]]
id = "river"
title = "River"
score = "river.musicxml"
[[box]]
id = "one"
piece = "river"
bars = "{address}"
target = "minim = 60"
""",
        encoding="utf-8",
    )
    return load_week(path)


@pytest.mark.parametrize(("address", "said"), ADDRESSES.items())
def test_a_box_has_one_name_everywhere(tmp_path: Path, address: str, said: str) -> None:
    week = written(tmp_path, address)
    words, (box,) = Words("uk"), week.boxes
    named = f"River, {said}"
    plan = plan_week(week)
    assert any(named in line for line in plan_lines(plan, week, words))
    assert named in box_text(week, box, words)
    assert lesson_sheet(week, read_log(log_path(week), "Ada"), words).boxes[0].title == named
    texts = PageTexts(words)
    pages = BoxPages(
        week, plan, reader("middle", None), texts, Music(week, Names(week, texts), Style(staff_mm=7.0))
    )
    (page,) = pages.build()
    assert page.title == named
    assert page.music is not None
    assert page.music.systems[0].alt.lower().startswith(said)


@pytest.mark.parametrize(("words", "said"), [("us", "pick-up to measure 3"), ("de", "Auftakt bis Takt 3")])
def test_a_pickup_is_called_so_in_every_language(tmp_path: Path, words: str, said: str) -> None:
    week = written(tmp_path, "0-3", words)
    assert said in box_text(week, week.boxes[0], Words(words))


def test_no_number_of_the_file_alone_is_printed_over_the_music(tmp_path: Path) -> None:
    written(tmp_path, "1-3")
    passage = open_score(tmp_path / "river.musicxml").part("#1").passage("@3-@7")
    numbers = [
        bar.label
        for system in engrave(passage.cut(), Style(bar_numbers="every")).systems
        for bar in system.bars
    ]
    assert not [label for label in numbers if re.match("[Xx]", label)]
    assert {"2", "3", "4"} <= set(numbers)


@pytest.mark.parametrize(
    ("written_", "said"),
    [("12", "bar 12"), ("12-16", "bars 12–16"), ("12:3", "bar 12, beat 3"), ("bars 3 and 5", "bars 3 and 5")],
)
def test_what_somebody_wrote_is_said_in_words(written_: str, said: str) -> None:
    assert bars_text(written_, Words("uk")) == said
