"""Large print, for low sight and dyslexia: its sizes, and what it keeps apart. Tier: default."""

from __future__ import annotations

import io
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest

from excerpts.editions import EDITIONS, PAPERS, SHEETS, TINTS, EditionName, edition
from excerpts.engrave import Style, engrave
from excerpts.weekfile.faults import WeekFaultsError
from excerpts.workbook import build_workbook
from tests.pdf_text import page_texts
from tests.workbook.audit import staff_heights
from tests.workbook.weeks import OLDER, YOUNG, week

LARGE = OLDER.replace("age = 15", 'age = 15\nprint = "large"')


@pytest.fixture(scope="module")
def pdf(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return build_workbook(week(tmp_path_factory.mktemp("large"), LARGE)).pdf


@pytest.mark.slow
def test_letters_are_large_upright_and_black(pdf: bytes) -> None:
    with pdfplumber.open(io.BytesIO(pdf)) as file:
        letters = [letter for page in file.pages for letter in page.chars if letter["text"].strip()]
    assert min(letter["size"] for letter in letters) > 15.9
    assert not [letter for letter in letters if "It" in letter["fontname"].partition("-")[2]]


@pytest.mark.slow
def test_staves_are_high(pdf: bytes) -> None:
    assert {round(height, 1) for height in staff_heights(pdf)} == {10.0}


@pytest.mark.parametrize(("asked", "staff"), [(7.5, 10.0), (9.2, 10.0), (11.0, 11.0), (14.0, 12.0)])
def test_a_teacher_sets_the_staves_within_bounds(asked: float, staff: float) -> None:
    assert edition("large").staff(asked) == staff
    assert Style.on(edition("large"), asked).staff_mm == staff


@pytest.mark.slow
def test_each_box_begins_a_page(pdf: bytes) -> None:
    texts = page_texts(pdf)
    for title in ("bars 3–4", "bars 9–10", "p. 7, bars 1–4"):
        first = next(text for text in texts if title in text[:60])
        assert "continued" not in first[:90]


def test_it_is_kept_on_either_paper_and_given_up_only_where_it_is_asked_for(tmp_path: Path) -> None:
    read = week(tmp_path, LARGE)
    assert [read.edition(name).name for name in (None, *EDITIONS)] == [
        "large", "large", "large", "booklet", "phone", "large",
    ]  # fmt: skip
    assert read.edition("letter").width == edition("letter").width
    plain = week(tmp_path, OLDER)
    assert [plain.edition(name).name for name in (None, *EDITIONS)] == [
        "",
        "",
        "",
        "booklet",
        "phone",
        "large",
    ]


def test_words_in_music_are_upright() -> None:
    from excerpts.score import open_score
    from excerpts.system.resources import scores

    excerpt = open_score(scores() / "gale-concerto-1.musicxml").part(None).passage("15-17").cut(1)
    slanted, upright = (
        {
            id(ink.outline)
            for s in engrave(excerpt, style).systems
            for ink in s.music
            if ink.owner.kind == "dir"
        }
        for style in (Style(), Style(upright=True))
    )
    assert slanted
    assert slanted.isdisjoint(upright)


@pytest.mark.slow
def test_a_ground_of_a_tint(tmp_path: Path) -> None:
    pdf = build_workbook(week(tmp_path, YOUNG.replace("age = 6", 'age = 6\ntint = "cream"'))).pdf
    with pdfplumber.open(io.BytesIO(pdf)) as file:
        for page in file.pages:
            ground = max(page.rects, key=lambda rect: rect["width"] * rect["height"])
            assert (ground["width"], ground["height"]) == pytest.approx((page.width, page.height), abs=1)
            told = "#" + "".join(f"{round(255 * part):02x}" for part in ground["non_stroking_color"])
            assert told == TINTS["cream"]


@pytest.mark.parametrize("colour", TINTS.values())
def test_print_keeps_its_contrast_on_every_ground(colour: str) -> None:
    """At least 4.5 to 1 for the greys of context and small print (WCAG 2.2, 1.4.3)."""

    def light(shade: str) -> float:
        parts = [int(shade[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    assert light(colour) < 0.97  # else it is white, which tires those who asked for a ground
    for grey in ("#5e5e5e", Style().context):
        assert (light(colour) + 0.05) / (light(grey) + 0.05) >= 4.5


def test_what_there_is_not_is_told(tmp_path: Path) -> None:
    with pytest.raises(WeekFaultsError, match="print"):
        week(tmp_path, LARGE.replace('"large"', '"huge"'))


def test_the_names_of_editions_have_one_owner() -> None:
    """What a week file may ask for and what commands offer comes from one table."""
    assert set(PAPERS) < set(SHEETS) < set(EDITIONS)
    assert set(EDITIONS) - set(SHEETS) == {"booklet"}
    for name in EDITIONS:
        for paper in PAPERS:
            assert edition(name, paper).text_width > 0


@pytest.mark.slow
@pytest.mark.parametrize(("name", "in_a_row"), [("large", 9), ("phone", 3)])
def test_the_circles_of_a_day_stand_in_one_row_and_apart(
    name: EditionName, in_a_row: int, tmp_path: Path
) -> None:
    """They are coloured one by one: those that touch are coloured as one. Common practice, no source."""
    built = build_workbook(
        week(tmp_path, YOUNG.replace('goal = "one bow', 'target = "crotchet = 60"\nnote = "one bow')),
        paper=name,
    )
    rows: dict[tuple[int, int], list[tuple[float, float]]] = {}
    with pdfplumber.open(io.BytesIO(built.pdf)) as file:
        for number, page in enumerate(file.pages):
            for one in page.curves:
                if 18 < one["width"] < 30 and abs(one["width"] - one["height"]) < 0.5:
                    rows.setdefault((number, round(one["top"])), []).append((one["x0"], one["x1"]))
    assert rows
    for row in rows.values():
        spots = sorted(set(row))
        gaps = [after[0] - before[1] for before, after in pairwise(spots)]
        assert len(spots) == in_a_row
        assert min(gaps) > 1
