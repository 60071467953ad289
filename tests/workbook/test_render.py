"""Laying out: what a page may read, and that ready images are drawn like the SVG they come from."""

from __future__ import annotations

import io
from contextlib import closing

import pdfplumber
import pytest
from jinja2 import UndefinedError

from excerpts.editions import edition
from excerpts.engrave import Style, engrave, picture
from excerpts.system.resources import templates
from excerpts.warmups import warmup
from excerpts.words import Words
from excerpts.workbook import build_sheet
from excerpts.workbook.pages import MusicBlock, Picture
from excerpts.workbook.pdf_image import DrawnMusic
from excerpts.workbook.render import (
    ForbiddenAddressError,
    OwnFilesOnly,
    environment,
    lay_out,
    whole_end,
    write_pdf,
)


@pytest.mark.parametrize(
    "address",
    [
        "http://example.org/a.css",
        "https://example.org/a.ttf",
        "ftp://example.org/a",
        "file:///etc/passwd",
        "file://elsewhere/etc/passwd",
        (templates() / ".." / "pyproject.toml").as_uri(),
        (templates().as_uri() + "/../pyproject.toml"),
        (templates().as_uri() + "/%2e%2e/pyproject.toml"),
    ],
)
def test_no_network_and_no_other_files(address: str) -> None:
    with pytest.raises(ForbiddenAddressError):
        OwnFilesOnly().fetch(address)


def test_own_faces_and_data_are_read() -> None:
    face = (templates() / "fonts" / "text" / "SourceSansPro-Regular.ttf").as_uri()
    with closing(OwnFilesOnly().fetch(face)) as response:
        assert response.read(4) == b"\x00\x01\x00\x00"
    with closing(OwnFilesOnly().fetch("data:text/plain,hello")) as response:
        assert response.read() == b"hello"


def test_templates_escape_and_miss_nothing() -> None:
    env = environment()
    assert env.from_string("{{ x }}").render(x="<b>&") == "&lt;b&gt;&amp;"
    with pytest.raises(UndefinedError):
        env.from_string("{{ nothing_of_that_name }}").render()


def test_no_short_word_is_left_alone_at_the_end() -> None:
    assert whole_end("Draw a rainbow. Three times.") == "Draw a rainbow. Three\N{NO-BREAK SPACE}times."
    assert whole_end("with uncommonly distinguished embellishments") == (
        "with uncommonly distinguished embellishments"
    )
    assert whole_end("one") == "one"


def _page(picture_: Picture, images: dict[str, DrawnMusic]) -> bytes:
    block = MusicBlock("Same", systems=(picture_,))
    values = {"title": "x", "author": "x", "footer": "x", "copying": "x", "language": "en-GB", "reader": None}
    page = {"styles": ("page.css", "sheet.css"), "page_rules": edition("a4").page_rules}
    return write_pdf(
        lay_out("sheet.html", images=dict(images), **page, sheet=[block], t=Words(), **values)  # type: ignore[arg-type]
    )


def test_ready_images_are_drawn_like_their_svg() -> None:
    """The page's two ways of showing a system differ in less than one pixel in a thousand at 100 dpi."""
    system = engrave(warmup("Bb", pattern="arpeggio"), Style()).systems[0]
    size = (system.width_mm, system.height_mm)
    ready = _page(Picture("music:1", *size, "B-flat"), {"music:1": DrawnMusic(system.svg, *size)})
    plain = _page(Picture(picture(system), *size, "B-flat"), {})
    shown = []
    for pdf in (ready, plain):
        with pdfplumber.open(io.BytesIO(pdf)) as file:
            shown.append(file.pages[0].to_image(resolution=100).original.convert("L"))
    grey = [image.point(lambda value: 0 if value < 128 else 1).tobytes() for image in shown]
    differing = sum(one != other for one, other in zip(*grey, strict=True))
    ink = grey[1].count(0)
    assert ink > 500
    assert differing < ink * 0.02


def test_sheet_has_headings_music_and_page_size() -> None:
    music = engrave(warmup("D"), Style())
    pdf = build_sheet(
        [("D major <scale>", "violin", music), ("Again", "", music)],
        size=edition("letter"),
        title="Scales & more",
    )
    with pdfplumber.open(io.BytesIO(pdf)) as file:
        (page,) = file.pages
        text = page.extract_text()
        assert (round(page.width), round(page.height)) == (612, 792)
        assert len(page.curves) > 50
    for said in ("D major <scale>", "violin", "Again", "Scales & more", "Copy only what"):
        assert said in text
