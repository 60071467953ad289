"""Printed pages are given up for what boxes show: nothing else of them is left, and the week goes on as it was."""

from __future__ import annotations

import json
import re
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from excerpts.cli import main
from excerpts.paper import find_pages, look
from excerpts.paper.ask import cut
from excerpts.week import load_week
from excerpts.week.printed_bars import printed
from excerpts.workbook import build_workbook
from tests.paper.test_cut import WEEK, choral
from tests.paper.test_found import photographed, rendered
from tests.pdf_text import text_of

BOXES = (
    WEEK.replace('pages = "choral.pdf"\n', 'pages = "choral.pdf"  # the edition of 1890\n'
                 'first_bars = {1 = [0, 5, 10]}\nmetre = "4/4"\nblank = {1 = [10, 278, 90, 288]}\n')
    + """
[[box]]
id = "b"
piece = "choral"
bars = "3-6"
why = ["shift"]
[[box]]
id = "c"
piece = "choral"
bars = "7"
page = 1
systems = ["2: 2-3"]
[[retired]]
id = "d"
piece = "choral"
bars = "2"
page = 1
systems = ["1: 1-2"]
retired = 2026-11-23
"""
)  # fmt: skip


def week_in(folder: Path, text: str = BOXES) -> Path:
    (folder / "choral.pdf").write_bytes(choral())
    (folder / "ada.toml").write_text(text, encoding="utf-8")
    return folder / "ada.toml"


def ran(*arguments: object) -> int:
    return main([str(one) for one in arguments])


@pytest.mark.slow
def test_a_week_keeps_its_boxes_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    week = week_in(tmp_path)
    before = load_week(week)
    cuts = [printed(box, before.pieces[0], find_pages(tmp_path / "choral.pdf")) for box in before.boxes]
    assert ran("plan", week, "--json") == 0
    plan = json.loads(capsys.readouterr().out)
    assert ran("paper", week, "--keep-boxes") == 0
    out, err = capsys.readouterr()
    target = tmp_path / "choral-boxes.pdf"
    assert f"{target}  (4 pages, one for each box)" in out
    assert "choral.pdf: left as it was. Delete it yourself" in err
    (tmp_path / "choral.pdf").unlink()
    # What is not in a box is not in the file; its pages have the staves of the source.
    assert "business" not in text_of(target.read_bytes())
    assert [look(find_pages(target), page).systems[0].staff_mm for page in (1, 2, 3, 4)] == pytest.approx(
        [6.0] * 4, abs=0.02
    )
    text = week.read_text(encoding="utf-8")
    assert 'pages = "choral-boxes.pdf"  # the edition of 1890' in text
    assert not re.search("first_bars|blank|systems", text)
    assert ran("check", week) == 0
    after = load_week(week)
    assert [box.page for box in (*after.boxes, *after.retired)] == [1, 2, 3, 4]
    for box, old in zip(after.boxes, cuts, strict=True):
        new = printed(box, after.pieces[0], find_pages(target))
        assert [line.kind for line in new.lines] == ["vector"] * len(old.lines)
        for line, was in zip(new.lines, old.lines, strict=True):
            ends, were = (one.box or (0.0, one.width_mm) for one in (line, was))
            assert ends[1] - ends[0] == pytest.approx(were[1] - were[0], abs=0.3)
    capsys.readouterr()
    assert ran("plan", week, "--json") == 0
    assert json.loads(capsys.readouterr().out) == plan
    assert build_workbook(after).warnings == ()


@pytest.mark.slow
def test_of_a_photo_the_boxes_stay_without_its_metadata(tmp_path: Path) -> None:
    facts = Image.Exif()
    facts[0x0132], facts[0x010F] = "2026:11:29 17:04:59", "Telephone of Nobody"
    picture = Image.fromarray(photographed(rendered(choral(), 200)))
    picture.save(tmp_path / "photo.jpg", quality=92, dpi=(200, 200), exif=facts)
    week = tmp_path / "ada.toml"
    week.write_text(WEEK.replace("choral.pdf", "photo.jpg"), encoding="utf-8")
    (old,) = cut(find_pages(tmp_path / "photo.jpg"), 1, [(2, 70, 97, 130)]).lines
    assert ran("paper", week, "--keep-boxes") == 0
    target = tmp_path / "photo-boxes.pdf"
    assert not re.search(rb"Telephone|17:04|Exif|photo", target.read_bytes())
    assert target.stat().st_size < 150_000
    box = load_week(week).boxes[0]
    (new,) = cut(find_pages(target), 1, box.areas or ()).lines
    one, other = (rendered(line.pdf, 720) for line in (old, new))  # ten dots to a millimetre
    assert abs(one.shape[1] - other.shape[1]) <= 5
    alike = max(
        np.corrcoef(
            one[100:500, 100:900].ravel(), other[100 + down : 500 + down, 100 + right : 900 + right].ravel()
        )[0, 1]
        for down in range(-10, 11)
        for right in range(-3, 4)
    )
    assert alike > 0.85


@pytest.mark.slow
def test_kept_boxes_get_a_name_that_no_file_has_and_the_same_bytes(tmp_path: Path) -> None:
    week = week_in(tmp_path, WEEK)
    assert ran("paper", week, "--keep-boxes") == 0
    first = (tmp_path / "choral-boxes.pdf").read_bytes()
    assert ran("paper", week, "--keep-boxes") == 0  # of its own pages
    assert 'pages = "choral-boxes-2.pdf"' in week.read_text(encoding="utf-8")
    week.write_text(WEEK, encoding="utf-8")
    (tmp_path / "choral-boxes.pdf").unlink()
    assert ran("paper", week, "--keep-boxes") == 0
    assert (tmp_path / "choral-boxes.pdf").read_bytes() == first
    with pikepdf.open(BytesIO(first)) as pdf:
        assert not pdf.docinfo
        assert "/Metadata" not in pdf.Root


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (WEEK.split("[[box]]", maxsplit=1)[0], "no box of it is cut from printed pages"),
        (WEEK.replace("page = 1\n", "page = 7\n"), "there is no page 7: the file has 1 page"),
    ],
)
def test_nothing_is_written_where_a_box_cannot_be_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, words: str
) -> None:
    week = week_in(tmp_path, text)
    assert ran("paper", week, "--keep-boxes") == 2
    assert words in capsys.readouterr().err
    assert week.read_text(encoding="utf-8") == text
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ada.toml", "choral.pdf"]


def test_a_box_in_an_included_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head, box = WEEK.split("[[box]]")
    (tmp_path / "class.toml").write_text(f"[[box]]{box}", encoding="utf-8")
    week = week_in(tmp_path, head.replace("format = 1\n", 'format = 1\ninclude = "class.toml"\n'))
    assert ran("paper", week, "--keep-boxes") == 2
    assert 'the box "a" stands in a file that this one includes' in capsys.readouterr().err
    assert ran("paper", week) == 2
    assert "add --keep-boxes" in capsys.readouterr().err
    assert ran("paper", tmp_path / "choral.pdf", "--keep-boxes") == 2
    assert "is asked of a week file" in capsys.readouterr().err
