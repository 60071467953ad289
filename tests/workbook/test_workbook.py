"""The printed workbook: what its pages say, how they are put together, and that nothing else gets in."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pdfplumber
import pikepdf
import pytest

from excerpts.engrave import Style
from excerpts.week import load_week
from excerpts.words import Words
from excerpts.workbook import Built, build_workbook
from excerpts.workbook.page_names import Names
from excerpts.workbook.page_texts import PageTexts
from excerpts.workbook.workbook_music import Music
from tests.music import bars_of
from tests.pdf_text import page_texts
from tests.workbook.weeks import OLDER, YOUNG, week

MM = 72 / 25.4


@dataclass
class Printed:
    built: Built
    text: list[str] = field(default_factory=list)

    @property
    def all_text(self) -> str:
        return " ".join(self.text)


def _printed(built: Built) -> Printed:
    return Printed(built, page_texts(built.pdf))


@pytest.fixture(scope="module")
def older(tmp_path_factory: pytest.TempPathFactory) -> Printed:
    return _printed(build_workbook(week(tmp_path_factory.mktemp("older"), OLDER)))


@pytest.fixture(scope="module")
def young(tmp_path_factory: pytest.TempPathFactory) -> Printed:
    return _printed(build_workbook(week(tmp_path_factory.mktemp("young"), YOUNG)))


def _outline(pdf: bytes) -> Iterator[tuple[int, str, int]]:
    """Level, title and page (from 1) of each outline entry."""
    with pikepdf.open(io.BytesIO(pdf)) as file:
        pages: dict[Any, int] = {page.objgen: number for number, page in enumerate(file.pages, start=1)}
        with file.open_outline() as outline:
            waiting = [(1, item) for item in outline.root]
            while waiting:
                level, item = waiting.pop(0)
                action = item.action
                target = item.destination if action is None else action.D
                assert isinstance(target, pikepdf.Array)
                yield level, str(item.title), pages[target[0].objgen]
                waiting = [(level + 1, child) for child in item.children] + waiting


def test_outline_has_the_sections_in_order_and_the_boxes_below(older: Printed) -> None:
    entries = [(level, title) for level, title, _ in _outline(older.built.pdf)]
    assert [title for level, title in entries if level == 1] == [
        "Warm-up",
        "Technique",
        "Passages",
        "Repertoire",
    ]
    below = entries[entries.index((1, "Passages")) + 1 : entries.index((1, "Repertoire"))]
    assert [title for level, title in below] == [
        "Box 1: River <script>alert(1)</script>, bars 3–4",
        "Box 2: River <script>alert(1)</script>, bars 9–10",
        "Box 3: Air, p. 7, bars 1–4",
    ]
    assert {level for level, _ in below} == {2}


def test_empty_sections_are_left_out_and_children_have_the_same_outline(young: Printed) -> None:
    top = [title for level, title, _ in _outline(young.built.pdf) if level == 1]
    assert top == ["Warm-up", "Passages", "Repertoire"]
    assert "PIECES" in young.all_text.replace(" ", "")


def test_first_page_says_who_when_and_what_for(older: Printed) -> None:
    first = older.text[0]
    for said in (
        "Ada <b>Lind</b> & Co",
        "violin",
        "30 November to 6 December 2026",
        "Next lesson Monday 7 December",
        "Performance in 12 days, on 12 December",
        "A quiet left hand",
        "Sing bar 3 first.",
        "Missed a day? Carry on with the next line.",
        "the fingers do not run evenly yet",
    ):
        assert said in first


def test_cautions_and_copying_line_are_printed(older: Printed, young: Printed) -> None:
    for book, licence in ((older, "licence"), (young, "license")):
        words = book.all_text
        for said in (
            "Your teacher’s advice comes before this plan; a health",
            "before both.",
            "see a doctor",
        ):
            assert said in words
        assert f"Copy only what your local law and your {licence} allow" in words


def test_texts_of_the_week_are_printed_as_they_are(older: Printed) -> None:
    assert "River <script>alert(1)</script>" in older.all_text
    assert b"/JavaScript" not in older.built.pdf


def test_list_of_boxes_gives_their_pages(older: Printed) -> None:
    pages = [page for level, _, page in _outline(older.built.pdf) if level == 2]
    told = [int(number) for number in re.findall(r"\bpage (\d+)", older.text[0])]
    assert told == pages


def test_a_page_never_carries_a_refusal(older: Printed) -> None:
    """Box 1 has what the teacher asks for; in box 2 the next choice stands where long–short does not fit."""
    assert "3a Long–short" in older.all_text
    assert "3b Separate bows" in older.all_text
    assert "3a On open strings" in older.all_text
    assert not re.search(r"not printed|needs a run|does not fit|left out", older.all_text)
    (told,) = [fault for fault in older.built.told if "long-short" in fault.message]
    assert told.message.endswith("It is left out; 'open-strings' is printed in its place.")


def test_slow_is_a_step_of_the_recipe_and_not_printed_again(older: Printed) -> None:
    titles = re.findall(r"\b\d[a-z] (\w+)", older.all_text)
    assert "Slow" not in titles
    assert "1 Slow" in older.all_text


def test_every_face_is_embedded(older: Printed, young: Printed) -> None:
    for book in (older, young):
        with pikepdf.open(io.BytesIO(book.built.pdf)) as file:
            fonts = [
                obj
                for obj in file.objects
                if isinstance(obj, pikepdf.Dictionary) and obj.get("/Type") == "/FontDescriptor"
            ]
            assert fonts
            for font in fonts:
                assert "/FontFile2" in font or "/FontFile3" in font
                assert re.search(r"\+(Text|Title)\b", str(font.FontName)), "a face that is not our own"


def test_paper_is_the_weeks_own(older: Printed, young: Printed) -> None:
    for book, size in ((older, (210, 297)), (young, (215.9, 279.4))):
        with pikepdf.open(io.BytesIO(book.built.pdf)) as file:
            for page in file.pages:
                box = [float(value) / MM for value in page.mediabox]
                assert box[2:] == pytest.approx(size, abs=0.01)


def test_nothing_is_printed_in_the_margins(older: Printed) -> None:
    with pdfplumber.open(io.BytesIO(older.built.pdf)) as pdf:
        for page in pdf.pages:
            marks = [*page.chars, *page.curves, *page.rects, *page.lines]
            assert min(mark["x0"] for mark in marks) >= 14.9 * MM
            assert max(mark["x1"] for mark in marks) <= 195.2 * MM


def test_page_budget_is_kept(older: Printed, young: Printed) -> None:
    assert len(older.text) == older.built.pages <= 8
    assert len(young.text) == young.built.pages <= 3
    assert older.built.warnings == young.built.warnings == ()


def test_pictures_are_described_for_those_who_hear_the_page(older: Printed) -> None:
    with pikepdf.open(io.BytesIO(older.built.pdf)) as file:
        told = {str(obj.Alt) for obj in file.objects if isinstance(obj, pikepdf.Dictionary) and "/Alt" in obj}
        assert "Bars 3–4, Violin I, G major, 4/4" in told
        assert "crotchet" in told
        assert file.Root.Lang == "en-GB"
        assert bool(file.Root.MarkInfo.Marked)
        assert str(file.docinfo.Title) == "Ada <b>Lind</b> & Co, week of 30 November 2026"


def test_american_words(young: Printed) -> None:
    assert "November 30 to December 6, 2026" in young.all_text
    assert "week of November 30" in young.all_text


def test_same_week_gives_the_same_bytes(young: Printed, tmp_path: Path) -> None:
    assert build_workbook(week(tmp_path, YOUNG)).pdf == young.built.pdf


def test_timings_add_up_to_something(older: Printed) -> None:
    assert set(older.built.timings) == {"engraving", "weasyprint", "own"}
    assert all(seconds > 0 for seconds in older.built.timings.values())


def test_too_many_pages_for_a_child_are_told_with_a_way_out(tmp_path: Path) -> None:
    more = "".join(
        f'\n[[box]]\nid = "b{n}"\npiece = "walk"\nplace = "p. {n}"\ngoal = "softly"\n' for n in range(7)
    )
    built = build_workbook(week(tmp_path, YOUNG.replace("[[warmup]]", more + "[[warmup]]")), paper="a4")
    assert built.pages > 3
    (told,) = built.warnings
    assert told.startswith(f"Bo: {built.pages} pages; 3 would be plenty.")
    assert "Fewer boxes" in told


def test_marks_that_made_boxes_are_not_in_their_excerpts_and_what_is_no_box_is_told(tmp_path: Path) -> None:
    line = "<direction><direction-type><bracket type='{}' line-end='down'/></direction-type></direction>"
    box = "<direction><direction-type><words enclosure='rectangle'>{}</words></direction-type></direction>"
    (tmp_path / "air.musicxml").write_bytes(
        bars_of(
            "C5:4", f"{line.format('start')} C5:2 D5:2 {line.format('stop')}", f"{box.format('pizz.')} C5:4"
        )
    )
    head = OLDER[: OLDER.index("[[piece]]")]
    piece = "[[piece]]\nid = 'air'\ntitle = 'Air'\nscore = 'air.musicxml'\nmarked = true\n"
    (tmp_path / "week.toml").write_text(head + piece)
    loaded = load_week(tmp_path / "week.toml")
    texts = PageTexts(Words("uk"), child=False)
    music = Music(loaded, Names(loaded, texts), Style(staff_mm=7.0))
    excerpt = music.orders.boxes[0].music.made()
    assert excerpt is not None
    assert list(excerpt.tree().iter("bracket")) == []
    assert "dropped bracket line in bar 2: made a box" in [str(line) for line in excerpt.report]
    (told,) = build_workbook(loaded).warnings
    assert told.startswith('air.musicxml, bar 3: "pizz." in a rectangle names no passage')
