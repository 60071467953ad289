"""Paper, words and sections that the commands take."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import pdfplumber
import pytest

from excerpts.cli import main
from excerpts.system.resources import scores
from tests.pdf_text import text_of

GALE = scores() / "gale-concerto-1.musicxml"
MILA = scores() / "weeks" / "mila-week-49.toml"


def _pages(path: Path) -> tuple[set[tuple[int, int]], str]:
    """Sizes of the pages in mm, and all their text."""
    with pdfplumber.open(io.BytesIO(path.read_bytes())) as pdf:
        sizes = {(round(float(p.width) / 72 * 25.4), round(float(p.height) / 72 * 25.4)) for p in pdf.pages}
    return sizes, text_of(path)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("arguments", "size", "said"),
    [
        (["cut", str(GALE), "15:3-16:2"], (210, 297), "bar 15, beat 3, to bar 16, beat 2"),
        (["cut", str(GALE), "15-16", "--paper", "letter", "--words", "us"], (216, 279), "measures 15–16"),
        (["cut", str(GALE), "15-16", "--words", "de"], (210, 297), "d-Moll"),
        (["warmup", "Bb", "--paper", "phone"], (80, 160), "B-flat major scale"),
        (["warmup", "Bb", "--words", "de"], (210, 297), "Tonleiter B-Dur"),
        (["workbook", str(MILA), "--paper", "booklet"], (297, 210), "Mila Fenn"),
        (["workbook", str(MILA), "--paper", "phone", "--only", "plan"], (80, 160), "Mila Fenn"),
    ],
)
def test_paper_and_words(arguments: list[str], size: tuple[int, int], said: str, tmp_path: Path) -> None:
    output = tmp_path / "out.pdf"
    assert main([*arguments, "-o", str(output)]) == 0
    sizes, text = _pages(output)
    assert sizes == {size}
    assert said in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["cut", str(GALE), "15", "--paper", "a3"], "'a3' is none of a4, letter, phone"),
        (["warmup", "D", "--words", "fr"], "'fr' is none of uk, us, de"),
        (["workbook", str(MILA), "--only", "cover"], "'cover' is none of boxes, plan, warm-ups"),
    ],
)
def test_what_is_not_there_is_told(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*arguments, "-o", str(tmp_path / "out.pdf")]) == 2
    assert said in capsys.readouterr().err


def test_new_asks_for_a_week_before(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(scores(), tmp_path / "studio")
    only = tmp_path / "studio" / "weeks" / MILA.name
    assert main(["workbook", str(only), "--new", "-o", str(tmp_path / "out.pdf")]) == 2
    assert "no earlier workbook (PDF) of Mila Fenn" in capsys.readouterr().err


def test_words_that_are_not_there_are_a_fault_of_the_week_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(scores(), tmp_path / "studio")
    path = tmp_path / "studio" / "weeks" / MILA.name
    path.write_text(path.read_text("utf-8").replace("age = 7", 'age = 7\nwords = "fr"'), "utf-8")
    assert main(["check", str(path)]) == 2
    assert 'There is no set of words "fr". There are uk, us, de.' in capsys.readouterr().err
