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
from tests.paper.engraved import as_pdf, engraved
from tests.paper.test_cut import AREA, WEEK, choral, saved
from tests.pdf_text import text_of


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


@pytest.mark.parametrize(
    ("blank", "words"),
    [
        ((80, 8, 10, 16), "the blank area [80, 8, 10, 16] is the wrong way round"),
        ((10, 8, 280, 16), "the blank area [10, 8, 280, 16] reaches out of the page. The page is 210 mm"),
    ],
)
def test_an_area_that_would_leave_a_name_where_it_is(
    tmp_path: Path, blank: tuple[float, float, float, float], words: str
) -> None:
    with pytest.raises(PaperError) as error:
        cut(find_pages(written(tmp_path, "suite.pdf", choral())), 1, [AREA], blank=[blank])
    assert words in str(error.value)


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


def test_a_file_that_is_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    suite = written(tmp_path, "suite.pdf", choral())
    monkeypatch.setattr("excerpts.paper.files._LARGEST", 1000)
    assert "suite.pdf: the file is larger than 0 MB. Keep only the pages that are played." in said(suite)


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
    line = WEEK[: WEEK.index("area = ")].count("\n") + 1
    assert str(fault).startswith(f'ada.toml, line {line}, box "a", area: ')
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


@pytest.mark.slow
def test_a_script_in_a_pdf_is_neither_run_nor_copied(tmp_path: Path) -> None:
    with pikepdf.open(BytesIO(choral())) as pdf:
        script = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert('here')")
        pdf.Root.OpenAction = script
        pdf.pages[0].AA = pikepdf.Dictionary(O=script)
        data = saved(pdf)
    line = cut(find_pages(written(tmp_path, "a.pdf", data)), 1, [AREA]).lines[0]
    with pikepdf.open(BytesIO(data)) as pdf:
        assert "/OpenAction" in pdf.Root
    assert b"JavaScript" not in line.pdf
    assert b"app.alert" not in line.pdf


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["reversed", "cropped"])
def test_a_page_whose_box_is_unusual_is_cut_as_it_is_shown(tmp_path: Path, kind: str) -> None:
    plain = cut(find_pages(written(tmp_path, "plain.pdf", choral())), 1, [AREA]).lines[0]
    with pikepdf.open(BytesIO(choral())) as pdf:
        page = pdf.pages[0]
        left, bottom, right, top = (float(side) for side in page.MediaBox)
        if kind == "reversed":
            page.MediaBox = pikepdf.Array([right, top, left, bottom])
            moved = AREA
        else:  # 10 mm are cut off at the left, 20 at the top
            page.CropBox = pikepdf.Array([left + 28.3465, bottom, right, top - 56.6929])
            moved = (0, AREA[1] - 20, AREA[2] - 10, AREA[3] - 20)
        data = saved(pdf)
    line = cut(find_pages(written(tmp_path, f"{kind}.pdf", data)), 1, [moved]).lines[0]
    assert line.kind == "vector"
    assert line.staff_mm == pytest.approx(plain.staff_mm, abs=0.01)
    assert line.at[2] - line.at[0] == pytest.approx(
        plain.at[2] - plain.at[0] - (0 if kind == "reversed" else 8), abs=3.2
    )
    assert "business" not in text_of(line.pdf)


@pytest.mark.slow
def test_a_word_across_the_edge_stays_and_the_words_beside_it_go(tmp_path: Path) -> None:
    words = "<p style='left:8mm;top:96mm'>Across</p><p style='left:170mm;top:96mm'>Beside</p>"
    data = as_pdf(engraved("bach/bwv66.6.mxl"), extra=words)
    (line,) = cut(find_pages(written(tmp_path, "a.pdf", data)), 1, [(14, 70, 97, 130)]).lines
    told = text_of(line.pdf)
    assert "Beside" not in told
    assert line.kind == "vector"


@pytest.mark.slow
def test_looking_at_a_page_needs_little_memory(tmp_path: Path) -> None:
    """A page of A4 at 300 dpi; 300 MB of memory in use, half of which is libraries."""
    from subprocess import run
    from sys import executable

    from tests.paper.test_found import png, rendered

    path = written(tmp_path, "a.png", png(rendered(choral(), 300), 300))
    code = (
        "import os; os.environ['OPENBLAS_NUM_THREADS'] = '1'\n"
        "import re, sys\nfrom pathlib import Path\nfrom excerpts.paper.sheet import open_sheet\n"
        "from excerpts.paper.looked import look\n"
        "with open_sheet(Path(sys.argv[1]).read_bytes(), 0) as sheet: look(sheet)\n"
        "print(int(re.search('VmHWM: *(.*) kB', Path('/proc/self/status').read_text())[1]) // 1000)"
    )
    used = int(run([executable, "-c", code, str(path)], capture_output=True, check=True, text=True).stdout)
    assert used < 300
