"""Every page that is made is looked at: what lies outside the paper is told by its page."""

from __future__ import annotations

import logging

import pytest

from excerpts.editions import edition
from excerpts.engrave import Style, engrave
from excerpts.warmups import warmup
from excerpts.words import Words
from excerpts.workbook.page_faults import off_the_paper
from excerpts.workbook.pages import MusicBlock, Picture
from excerpts.workbook.pdf_image import DrawnMusic
from excerpts.workbook.render import lay_out, write_pdf

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100"><path fill="#000000" d="M0 0l9 9"/></svg>'
)


def sheet(title: str, width: float, height: float, past: tuple[float, float] = (0.0, 0.0)):  # type: ignore[no-untyped-def]
    block = MusicBlock(title, systems=(Picture("music:1", width, height, "x"),))
    values = {"title": "x", "author": "x", "footer": "x", "copying": "x", "language": "en-GB", "reader": None}
    return lay_out(
        "sheet.html",
        images={"music:1": DrawnMusic(SVG, width, height, past)},
        styles=("page.css", "sheet.css"),
        page_rules=edition("a4").page_rules,
        sheet=[block],
        t=Words(),
        **values,
    )


@pytest.mark.parametrize(
    ("width", "height", "past", "said"),
    [
        (180, 200, (0.0, 0.0), []),
        (180, 200, (10.0, 14.0), []),
        (180, 300, (0.0, 0.0), ["page 1: music lies 16.0 mm outside the paper."]),
        (200, 200, (0.0, 0.0), ["page 1: music lies 5.0 mm outside the paper."]),
        (180, 200, (0.0, 17.5), ["page 1: music lies 2.5 mm outside the paper."]),
        (180, 200, (16.0, 0.0), ["page 1: music lies 1.0 mm outside the paper."]),
    ],
)
def test_music_outside_the_paper_is_told(
    width: float, height: float, past: tuple[float, float], said: list[str]
) -> None:
    told = off_the_paper(sheet("x", width, height, past))
    assert [line.partition(":")[2] for line in told] == [line.partition(":")[2] for line in said]


def test_it_is_told_whenever_a_page_is_made(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, "excerpts"):
        write_pdf(sheet("x", 200, 200))
    assert "music lies 5.0 mm outside the paper" in caplog.text


def test_text_outside_the_paper_is_told() -> None:
    html = (
        '<html><body><p style="white-space:nowrap;overflow-wrap:normal">'
        + "long " * 60
        + "</p></body></html>"
    )
    from excerpts.workbook.render import lay_out_text

    (told,) = off_the_paper(
        lay_out_text(html, images={}, styles=("page.css",), page_rules=edition("a4").page_rules)
    )
    assert told.startswith('page 1: the text "long long long')


def test_real_music_reaches_past_nothing() -> None:
    assert {system.past_mm for system in engrave(warmup("D"), Style()).systems} == {(0.0, 0.0)}
