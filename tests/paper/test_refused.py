"""Pages that cannot be taken: each is told with its file, page and what would be right; nothing hangs or fills up."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image

from excerpts.errors import PaperError
from excerpts.paper import cut, find_pages
from excerpts.week.orders.check import check_week
from tests.paper.test_cut import AREA, WEEK, choral, saved


def said(path: Path, page: int = 1, *areas: tuple[float, float, float, float]) -> str:
    with pytest.raises(PaperError) as error:
        cut(find_pages(path), page, areas or (AREA,))
    return str(error.value)


def written(folder: Path, name: str, data: bytes) -> Path:
    (folder / name).write_bytes(data)
    return folder / name


@pytest.mark.parametrize(
    ("areas", "words"),
    [
        (
            [(2, 70, 300, 130)],
            "suite.pdf, page 1: the area [2, 70, 300, 130] reaches out of the page. The page is 210 mm",
        ),
        ([(2, 200, 90, 230)], "nothing is printed in the area [2, 200, 90, 230]"),
        ([(5, 278, 90, 286)], "no staves are found in the area [5, 278, 90, 286]"),
        ([(90, 70, 2, 130)], "has no room for music. Write left, top, right, bottom"),
        ([AREA, (2, 5, 97, 65)], "stands above [2, 70, 97, 130], which is played before it"),
    ],
)
def test_areas(tmp_path: Path, areas: list[tuple[float, float, float, float]], words: str) -> None:
    assert words in said(written(tmp_path, "suite.pdf", choral()), 1, *areas)


def test_pages_and_files(tmp_path: Path) -> None:
    suite = written(tmp_path, "suite.pdf", choral())
    assert "suite.pdf, page 4: there is no page 4: the file has 1 page." in said(suite, 4)
    assert "Save it as JPEG" in said(written(tmp_path, "photo.heic", b"x"))
    assert "neither a PDF nor a picture" in said(written(tmp_path, "x.png", b"no picture"))
    folder = tmp_path / "scans"
    folder.mkdir()
    assert "the folder is empty" in said(folder)
    Image.new("L", (1000, 1400), 255).save(folder / "1.png")
    assert "there is no page 2: it has 1 page" in said(folder, 2)
    written(folder, "notes.txt", b"")
    assert "notes.txt: this is no page of music that can be read in the folder scans." in said(folder)


def test_locked_files(tmp_path: Path) -> None:
    with pikepdf.open(BytesIO(choral())) as pdf:
        shut = saved(pdf, encryption=pikepdf.Encryption(owner="a", user="b"))
        nothing = pikepdf.Permissions(extract=False)
        owned = saved(pdf, encryption=pikepdf.Encryption(owner="a", user="", allow=nothing))
    assert "encrypted and asks for a password. Save a copy without" in said(written(tmp_path, "a.pdf", shut))
    assert "has not allowed that anything is copied" in said(written(tmp_path, "b.pdf", owned))


def test_a_file_that_was_cut_off_is_put_right_or_told(tmp_path: Path) -> None:
    whole = choral()
    start = whole.rindex(b"startxref")
    line = cut(find_pages(written(tmp_path, "a.pdf", whole[:start])), 1, [AREA]).lines[0]
    assert line.staff_mm == pytest.approx(6.0, abs=0.01)
    assert "damaged" in said(written(tmp_path, "b.pdf", whole[:300]))


@pytest.mark.parametrize("sides", [(14_400_000, 14_400_000), (200_000, 10)])
def test_sizes_that_no_page_has(tmp_path: Path, sides: tuple[int, int]) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100)).MediaBox = pikepdf.Array([0, 0, *sides])
        assert "no page of music is that size" in said(written(tmp_path, "a.pdf", saved(pdf)))


@pytest.mark.slow
def test_forms_within_forms_are_stopped(tmp_path: Path) -> None:
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(595, 842))
        inner = pdf.make_stream(b"0 0 10 10 re f")
        for _ in range(9):
            facts = pikepdf.Dictionary(
                Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 600, 900],
                Resources=pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner)),
            )  # fmt: skip
            inner.stream_dict = pikepdf.Dictionary(
                {**inner.stream_dict, "/Type": facts.Type, "/Subtype": facts.Subtype, "/BBox": facts.BBox}
            )
            outer = pdf.make_stream(b"/F Do " * 10)
            outer.stream_dict = facts
            inner = outer
        page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(F=inner))
        page.Contents = pdf.make_stream(b"/F Do")
        message = said(written(tmp_path, "bomb.pdf", saved(pdf)))
    assert "bomb.pdf, page 1: looking at it" in message
    assert "Print it to a new PDF" in message


@pytest.mark.slow
def test_a_picture_with_too_many_pixels(tmp_path: Path) -> None:
    Image.new("1", (20_000, 9_000), 1).save(tmp_path / "large.png")
    assert "the picture has 20000 × 9000 pixels; 45 million are the most" in said(tmp_path / "large.png")


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["16 bits", "see-through", "on its side"])
def test_pictures_of_all_kinds_are_read_as_they_are_shown(tmp_path: Path, kind: str) -> None:
    from tests.paper.test_found import rendered

    greys = rendered(choral(), 200)
    path = tmp_path / "page.png"
    if kind == "16 bits":
        Image.fromarray(greys.astype(np.uint16) * 257).save(path, dpi=(200, 200))
    elif kind == "see-through":
        clear = np.zeros((*greys.shape, 4), np.uint8)
        clear[..., 3] = 255 - greys
        Image.fromarray(clear).save(path, dpi=(200, 200))
    else:
        facts = Image.Exif()
        facts[0x0112] = 6  # the camera was held upright
        path = tmp_path / "page.jpg"
        Image.fromarray(np.rot90(greys)).save(path, dpi=(200, 200), quality=95, exif=facts)
    assert cut(find_pages(path), 1, [AREA]).lines[0].staff_mm == pytest.approx(6.0, abs=0.02)


def test_check_tells_the_line_of_the_week_file(tmp_path: Path) -> None:
    week = tmp_path / "ada.toml"
    week.write_text(WEEK, encoding="utf-8")
    assert 'There is no file or folder "choral.pdf"' in str(check_week(week).faults[0])
    written(tmp_path, "choral.pdf", choral())
    assert check_week(week).faults == ()
    week.write_text(WEEK.replace("page = 1", "page = 3"), encoding="utf-8")
    (fault,) = check_week(week).faults
    assert str(fault).startswith('ada.toml, line 20, box "a", area: ')
    assert "choral.pdf, page 3: there is no page 3: the file has 1 page." in str(fault)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("page = 1\n", "", "A page needs an area, or systems: page = 3"),
        ("area = [2, 70, 97, 130]\n", "", "A page needs an area, or systems: page = 3"),
        ('pages = "choral.pdf"\n', "", "has no pages to cut from"),
        ('bars = "5-6"\n', 'marks = ["5:1 finger 2"]\n', "Marks need notes"),
    ],
)
def test_keys_that_lack_another(tmp_path: Path, old: str, new: str, words: str) -> None:
    written(tmp_path, "choral.pdf", choral())
    week = tmp_path / "ada.toml"
    week.write_text(WEEK.replace(old, new), encoding="utf-8")
    assert words in " ".join(str(fault) for fault in check_week(week).faults)


def test_a_variant_says_what_it_needs(tmp_path: Path) -> None:
    written(tmp_path, "choral.pdf", choral())
    week = tmp_path / "ada.toml"
    week.write_text(WEEK + 'variants = ["long-short"]\n', encoding="utf-8")
    (told,) = check_week(week).told
    assert "needs notes, and the box is on paper only (page). Type its bars as ABC (abc)" in str(told)
