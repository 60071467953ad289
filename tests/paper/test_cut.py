"""What is cut out of a page: the same picture as the page, nothing of the page around it, the same bytes each time."""

from __future__ import annotations

from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
from PIL import Image

from excerpts.paper import PaperLine, cut, find_pages, look
from excerpts.week import load_week
from excerpts.workbook import build_workbook
from tests.heads import head
from tests.paper.engraved import as_pdf, engraved
from tests.paper.test_found import photographed, png, rendered
from tests.pdf_text import text_of

AREA = (2, 70, 97, 130)
SECRET = "<p>A name that is nobody's business</p>"


@cache
def choral() -> bytes:
    return as_pdf(engraved("bach/bwv66.6.mxl"), extra=SECRET)


def line_of(
    folder: Path, name: str, data: bytes, area: tuple[float, float, float, float] = AREA
) -> PaperLine:
    (folder / name).write_bytes(data)
    (line,) = cut(find_pages(folder / name), 1, [area]).lines
    return line


@pytest.mark.slow
def test_a_drawn_area_looks_as_on_its_page_and_nothing_else_comes_along(tmp_path: Path) -> None:
    line = line_of(tmp_path, "choral.pdf", choral())
    assert line.kind == "vector"
    # Its right side has moved to the barline, its top and bottom to the ink.
    (bar,) = (one for one in engraved("bach/bwv66.6.mxl").systems[1][1] if 90 < one < 110)
    assert line.box == pytest.approx((0, bar - 2), abs=0.2)
    # Behind it stands a bar of context.
    following = min(one for one in engraved("bach/bwv66.6.mxl").systems[1][1] if one > bar + 5)
    assert line.width_mm == pytest.approx(following - 2 + 0.37, abs=0.2)  # with its barline
    assert line.staff_mm == pytest.approx(6.0, abs=0.01)
    shown = look(find_pages(tmp_path / "choral.pdf"), 1)
    assert shown.counts == (5, 5)
    left, top, right, bottom = (side / 25.4 * 72 for side in line.at)
    with pikepdf.open(BytesIO(choral())) as pdf:  # the page itself, shown through a window of that size
        height = float(pdf.pages[0].MediaBox[3])
        pdf.pages[0].MediaBox = pikepdf.Array([left, height - bottom, right, height - top])
        page = rendered(saved(pdf), 254)
    with pikepdf.open(BytesIO(line.pdf)) as pdf:  # and of the cut the box, without the context behind it
        pdf.pages[0].MediaBox = pikepdf.Array([0, 0, line.at[2] - line.at[0], line.height_mm])
        own = rendered(saved(pdf), 720)
    own, page = (one[10 : min(own.shape[0], page.shape[0]) - 10] for one in (own, page))
    assert np.abs(own[:, : page.shape[1]].astype(int) - page[:, : own.shape[1]]).max() <= 8
    assert "business" in text_of(choral())
    assert "business" not in text_of(line.pdf)
    assert len(line.pdf) < len(choral())


@pytest.mark.slow
def test_a_scan_in_black_and_white_keeps_its_pixels(tmp_path: Path) -> None:
    scan = Image.fromarray(rendered(choral(), 300)).convert("1", dither=Image.Dither.NONE)
    written = BytesIO()
    scan.save(written, "PNG", dpi=(300, 300))
    line = line_of(tmp_path, "scan.png", written.getvalue())
    assert line.kind == "bilevel"
    with pikepdf.open(BytesIO(line.pdf)) as pdf:
        image = pdf.pages[0].Resources.XObject["/P"]
        assert isinstance(image, pikepdf.Stream)
        assert [image.BitsPerComponent, str(image.Filter)] == [1, "/CCITTFaxDecode"]
        kept = np.asarray(pikepdf.PdfImage(image).as_pil_image().convert("L"))
    every, inner = np.asarray(scan.convert("L")), slice(12, -12)  # outside the area all is white
    height, width = kept.shape
    places = [
        (top, left)
        for top in range(round(65 / 0.0847), round(80 / 0.0847))
        for left in range(20, 28)
        if np.array_equal(kept[inner, inner], every[top : top + height, left : left + width][inner, inner])
    ]
    assert len(places) == 1
    assert len(line.pdf) < 20_000


@pytest.mark.slow
def test_a_photo_is_turned_straight_and_has_16_greys_on_white(tmp_path: Path) -> None:
    line = line_of(tmp_path, "photo.png", png(photographed(rendered(choral(), 200)), 200))
    assert line.kind == "grey"
    assert line.staff_mm == pytest.approx(6.0, abs=0.03)
    with pikepdf.open(BytesIO(line.pdf)) as pdf:
        assert pdf.pages[0].Resources.XObject["/P"].BitsPerComponent == 4
    greys = rendered(line.pdf, 500)
    assert np.median(greys) >= 250
    rows = (greys < 235).mean(axis=1)
    assert (
        rows.max() > 0.8
    )  # a staff line runs along one row: the page was turned by a degree and is straight


def test_two_cuts_are_the_same_bytes(tmp_path: Path) -> None:
    assert line_of(tmp_path, "a.pdf", choral()) == line_of(tmp_path, "b.pdf", choral())


def with_annotation(data: bytes) -> bytes:
    with pikepdf.open(BytesIO(data)) as pdf:
        look = pdf.make_stream(
            b"0 0 20 20 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form, BBox=[0, 0, 20, 20]
        )
        mark = pikepdf.Dictionary(
            Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Stamp, Rect=[100, 560, 120, 580], F=4,
            AP=pikepdf.Dictionary(N=look),
        )  # fmt: skip
        pdf.pages[0].Annots = pdf.make_indirect(pikepdf.Array([pdf.make_indirect(mark)]))
        return saved(pdf)


def saved(pdf: pikepdf.Pdf, **options: object) -> bytes:
    written = BytesIO()
    pdf.save(written, **options)  # type: ignore[arg-type]
    return written.getvalue()


@pytest.mark.slow
def test_marks_made_on_a_tablet_come_along(tmp_path: Path) -> None:
    plain = rendered(line_of(tmp_path, "a.pdf", choral()).pdf, 400)
    marked = rendered(line_of(tmp_path, "b.pdf", with_annotation(choral())).pdf, 400)
    assert ((plain > 200) & (marked < 50)).sum() > 500


@pytest.mark.slow
@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_page_is_cut_as_it_is_shown(tmp_path: Path, turn: int) -> None:
    """A page that lies on its side in the file, and is shown upright."""
    with pikepdf.open(BytesIO(choral())) as pdf:
        page = pdf.pages[0]
        lazy = page.as_form_xobject()
        form = pdf.make_stream(lazy.read_bytes())  # of the page as it is now
        form.stream_dict = pikepdf.Dictionary({**lazy.stream_dict, "/Length": 0})
        width, height = (float(side) for side in page.MediaBox[2:])
        a, b, c, d, e, f, size = {
            90: (0, 1, -1, 0, height, 0, (height, width)),
            180: (-1, 0, 0, -1, width, height, (width, height)),
            270: (0, -1, 1, 0, 0, width, (height, width)),
        }[turn]
        page.Contents = pdf.make_stream(f"q {a} {b} {c} {d} {e} {f} cm /W Do Q".encode())
        page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(W=form))
        page.MediaBox = pikepdf.Array([0, 0, *size])
        page.Rotate = turn
        turned = saved(pdf)
    line = line_of(tmp_path, "turned.pdf", turned)
    straight = line_of(tmp_path, "straight.pdf", choral())
    there, here = (blocks(rendered(one.pdf, 400)) for one in (straight, line))
    assert np.corrcoef(there, here)[0, 1] > 0.97


def blocks(greys: np.ndarray) -> np.ndarray:
    """Darkness in squares of eight pixels: where ink stands, however finely it is drawn."""
    height, width = (side // 8 * 8 for side in greys.shape)
    squares: np.ndarray = greys[:height, :width].reshape(height // 8, 8, width // 8, 8).mean(axis=(1, 3))
    return squares.ravel()


WEEK = f"""{head("middle", name="Ada Lind", age="15", minutes="45")}\
[[piece]]
id = "choral"
title = "Choral"
pages = "choral.pdf"
[[box]]
id = "a"
piece = "choral"
bars = "5-6"
page = 1
area = [2, 70, 97, 130]
target = "crotchet = 92"
why = ["uneven"]
"""


@pytest.mark.slow
def test_a_workbook_prints_the_box_in_the_height_of_its_staves(tmp_path: Path) -> None:
    (tmp_path / "choral.pdf").write_bytes(choral())
    (tmp_path / "ada.toml").write_text(WEEK, encoding="utf-8")
    week = load_week(tmp_path / "ada.toml")
    built = build_workbook(week)
    assert built.pdf == build_workbook(load_week(tmp_path / "ada.toml")).pdf
    assert built.warnings == ()
    said = text_of(built.pdf)
    assert "Choral, bars 5–6" in said
    assert "business" not in said
    assert b"from page 1 of the printed part" in tags_of(built.pdf)
    with pdfium.PdfDocument(built.pdf) as document:
        pages = [np.array(page.render(scale=600 / 72, grayscale=True).to_numpy()) for page in document]
    gaps = [gap for page in pages for gap in staff_heights(page.reshape(page.shape[:2]))]
    assert len(gaps) == 4
    assert all(gap == pytest.approx(7.5, abs=0.05) for gap in gaps)


def tags_of(pdf: bytes) -> bytes:
    with pikepdf.open(BytesIO(pdf)) as opened:
        return b"\n".join(
            str(one.Alt).encode() for one in opened.objects
            if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/Figure" and "/Alt" in one
        )  # fmt: skip


def staff_heights(page: np.ndarray) -> list[float]:
    """Heights of staves in millimetres at 600 dpi: rows that are black over 80 mm and come in fives."""
    rows = np.flatnonzero((page[:, 1000:3000] < 128).mean(axis=1) > 0.9)
    lines = [group.mean() for group in np.split(rows, np.flatnonzero(np.diff(rows) > 2) + 1) if group.size]
    return [
        float(lines[at + 4] - lines[at]) * 25.4 / 600
        for at in range(len(lines) - 4)
        if np.ptp(np.diff(lines[at : at + 5])) < 4 and (at == 0 or lines[at] - lines[at - 1] > 60)
    ]
