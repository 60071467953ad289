"""Shapes that come again stand in a PDF once. Tier: default.

Read by pikepdf (qpdf) and pdfplumber (pdfminer.six): both know form XObjects (ISO 32000-2, 8.10) by themselves.
"""

from __future__ import annotations

import io
import re
from collections import Counter

import pdfplumber
import pikepdf
import pytest

from excerpts.engrave import Style, engrave
from excerpts.score import open_score
from excerpts.system.resources import scores
from excerpts.workbook import shared_shapes as shapes
from excerpts.workbook.pdf_image import DrawnMusic
from excerpts.workbook.render import lay_out_text, write_pdf


@pytest.fixture(scope="module")
def pdf() -> bytes:
    """Two pages with the same four bars."""
    excerpt = open_score(scores() / "gale-concerto-1.musicxml").part(None).passage("15-18").cut(1)
    system = engrave(excerpt, Style()).systems[0]
    image = DrawnMusic(system.svg, system.width_mm, system.height_mm)
    page = '<div class="page"><img class="system" src="music:1" alt="bars"/></div>'
    html = f'<html lang="en"><head><title>Four bars</title></head><body>{page}{page}</body></html>'
    rules = "@page{size:A4;margin:10mm}"
    return write_pdf(lay_out_text(html, images={"music:1": image}, styles=["page.css"], page_rules=rules))


def _used(page: pikepdf.Page) -> Counter[str]:
    content = page.Contents.read_bytes().decode("latin-1")
    return Counter(re.findall(r"/(m-\w+) Do", content))


def test_each_shape_is_there_once_and_drawn_often(pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        first, second = opened.pages
        used = _used(first)
        assert used == _used(second)
        assert sum(used.values()) > 2 * len(used) > 10
        forms = [one for one in opened.objects if isinstance(one, pikepdf.Stream) and "/BBox" in one]
        assert len(forms) == len(used)
        assert set(first.Resources.XObject.keys()) == {f"/{name}" for name in used}
        for form in forms:
            numbers = [int(n) for n in re.findall(rb"-?\d+", form.read_bytes())]
            left, bottom, right, top = (int(value) for value in form.BBox)
            assert left < min(numbers[::2]) <= max(numbers[::2]) < right
            assert bottom < min(numbers[1::2]) <= max(numbers[1::2]) < top


def test_a_reader_finds_the_shapes_where_they_are_drawn(pdf: bytes) -> None:
    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        page = opened.pages[0]
        heads = Counter((round(one["width"], 2), round(one["height"], 2)) for one in page.curves)
        assert heads.most_common(1)[0][1] >= 8
        assert all(0 < one["x0"] < page.width and 0 < one["top"] < page.height for one in page.curves)


def test_a_name_is_that_of_the_shape_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    head = "c1 2 3 4 5 6" * 10
    name = shapes.named(head, "0 0 m\nf")
    assert name == shapes.named(head, "0 0 m\nf")
    assert name is not None
    assert shapes.named(head + "z", "0 0 m\nh\nf") not in {name, None}
    assert shapes.named("c1 2 3 4 5 6", "0 0 m\nf") is None
    monkeypatch.setattr(shapes, "MOST", 0)
    assert shapes.named(head + "l1 1", "0 0 m\nf") is None
    assert shapes.named(head, "0 0 m\nf") == name
