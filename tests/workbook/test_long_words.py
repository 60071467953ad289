"""A title or name that is one long word is broken: nothing leaves the page, no text stands on another."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from excerpts.cli import main
from excerpts.engrave.draw_boxes import text_width
from excerpts.engrave.stack import wrapped
from excerpts.teacher.chart import WIDTH, _fitting
from excerpts.workbook.page_names import shortened
from tests.pdf_text import text_of
from tests.workbook.audit import outside, overlaps
from tests.workbook.weeks import OLDER, score

WORD = "Donaudampfschifffahrtsgesellschaftskapitaenswitwenrentenauszahlungsstelle"
WEEK = (
    OLDER.replace("Ada <b>Lind</b> & Co", f"{WORD} {WORD}")
    .replace("River <script>alert(1)</script>", WORD)
    .replace('"Air"', f'"{WORD[::-1]}"')
    .replace("A. Fell", WORD)
    .replace("A quiet left hand", WORD)
    .replace("Sing bar 3 first.", WORD)
    .replace("one colour from start to end", WORD)
    .replace("p. 7, bars 1–4", WORD)
    .replace("Open strings, whole bows", WORD)
    .replace('"uneven"', f'"uneven"\nnote = "{WORD}"')
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("long")
    score(path / "river.musicxml")
    named = (
        (path / "river.musicxml").read_text(encoding="utf-8").replace("River", WORD).replace("Violin I", WORD)
    )
    (path / "named.musicxml").write_text(named, encoding="utf-8")
    (path / "week.toml").write_text(WEEK, encoding="utf-8")
    child = WEEK.replace('level = "middle"\nage = 15', 'level = "first"\nage = 6')
    child = child.replace('"slow", "long-short", "separate"', '"long-short"')
    (path / "child.toml").write_text(child, encoding="utf-8")
    row = ["--box", "one", "--tempo", "80", "--clean", "3", "--note", WORD]
    assert main(["log", str(path / "week.toml"), *row]) == 0
    return path


PAGES = {
    "workbook": ["workbook", "week.toml"],
    "phone": ["workbook", "week.toml", "--paper", "phone"],
    "child": ["workbook", "child.toml"],
    "lesson": ["lesson", "week.toml"],
    "progress": ["progress", "week.toml"],
    "board": ["board", "."],
    "cut": ["cut", "named.musicxml", "3-4"],
    "annotated": ["annotate", "named.musicxml", "3-4"],
}


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.parametrize("name", PAGES)
def test_a_long_word_is_broken(name: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    assert main([*PAGES[name], "-o", f"{name}.pdf", "--force"]) == 0
    pdf = (folder / f"{name}.pdf").read_bytes()
    margin = 3.0 if name == "phone" else 12.0
    assert outside(pdf, margin, margin, margin, 2.0) == []
    assert overlaps(pdf) == []
    if name != "board":  # there a name is shortened
        assert WORD in text_of(pdf).replace(" ", "")


def test_a_heading_in_svg_is_broken_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    assert main(["cut", "named.musicxml", "3-4", "-o", "cut.svg", "--force"]) == 0
    root = etree.parse(folder / "cut.svg").getroot()
    height = float(root.get("height", "").removesuffix("mm"))
    (folder / "plain.musicxml").write_bytes((folder / "river.musicxml").read_bytes())
    assert main(["cut", "plain.musicxml", "3-4", "-o", "plain.svg"]) == 0
    plain = float(etree.parse(folder / "plain.svg").getroot().get("height", "").removesuffix("mm"))
    assert height == pytest.approx(plain + 6.0, abs=0.01)


@given(st.text(st.sampled_from("aWil ,"), min_size=1, max_size=300), st.floats(20, 200))
def test_lines_of_a_heading_keep_every_letter_and_fit(text: str, width: float) -> None:
    lines = wrapped(text, width)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(text_width(line, 5.0, bold=True) <= width for line in lines)


@pytest.mark.parametrize(
    ("text", "most", "said"),
    [
        (WORD, 12, "Donaudampfs…"),
        (f"Box 1, {WORD}", 24, "Box 1, Donaudampfschiff…"),
        ("A loose right thumb, all the way", 20, "A loose right …"),
        ("short", 20, "short"),
    ],
)
def test_a_shortened_text_still_says_something(text: str, most: int, said: str) -> None:
    assert shortened(text, most) == said


@pytest.mark.parametrize("title", [WORD, "W" * 60, "Box 1, " + WORD, "Air"])
def test_the_title_of_a_chart_is_no_wider_than_the_chart(title: str) -> None:
    assert text_width(_fitting(title), 3.7, bold=True) <= 0.92 * WIDTH
