"""The notes: every rule with what the program does, every study with its limits; none of it on a player's page."""

from __future__ import annotations

import io
import tomllib

import pikepdf
import pytest

from excerpts.system.resources import templates
from excerpts.teacher.document import notes_pdf
from excerpts.teacher.notes import CAUTIONS, FAIR, RULES, SOURCES, STUDIES, notes
from excerpts.week.advice import BY_FAULT
from excerpts.words import Words

SAID = tomllib.loads((templates() / "words" / "en.toml").read_text(encoding="utf-8"))["teacher"]


def test_everything_in_the_words_file_is_in_the_notes() -> None:
    assert {point for section in RULES.values() for point in section} == set(SAID["rule"])
    assert set(STUDIES) == set(SAID["study"])
    assert (set(FAIR), set(CAUTIONS), set(SOURCES)) == (
        set(SAID["fair"]),
        set(SAID["caution"]),
        set(SAID["source"]),
    )


@pytest.mark.parametrize("column", ["uk", "us"])
def test_no_place_is_left_open_and_the_numbers_are_the_programs_own(column: str) -> None:
    made = notes(Words(column))
    points = [
        point for section in (*made.rules, made.cautions, made.fair, made.sources) for point in section.points
    ]
    assert not [point for point in points if "{" in point]
    text = " ".join(points)
    for said in (
        "on 2 days",
        "starts 2 metronome numbers below",
        "After 3 weeks",
        "1, 2 and 4 weeks",
        "40 to 208",
    ):
        assert said in text


def test_what_each_fault_brings_is_told_as_common_practice() -> None:
    advice = notes(Words()).rules[-1].points
    assert advice[0].startswith("Common practice")
    assert len(advice) == 1 + len(BY_FAULT)
    for names, point in zip(BY_FAULT.values(), advice[1:], strict=True):
        assert all(f"({name})" in point for name in names)


def test_every_study_has_its_limits() -> None:
    for study in notes(Words()).studies:
        assert study.limits
        assert any(year in study.source for year in map(str, range(1990, 2027)))


def test_the_pages(tmp_path: object) -> None:
    pdf = notes_pdf(Words(), "a4")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert len(document.pages) <= 3
    assert pdf == notes_pdf(Words(), "a4")


def test_no_page_of_a_player_says_any_of_it() -> None:
    pages = [path for path in templates().glob("*.html") if not path.name.startswith("teacher")]
    assert pages
    for page in pages:
        assert "teacher." not in page.read_text(encoding="utf-8")
