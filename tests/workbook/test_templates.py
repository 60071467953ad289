"""Templates are read as XML; a reader of HTML finds the same in them. Tier: default.

The reader of HTML is tinyhtml5, which follows the parsing rules of the HTML standard (https://html.spec.whatwg.org,
13.2): browsers, and WeasyPrint by itself, read pages so.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import XML, Element

import pytest
import tinyhtml5
from hypothesis import given
from hypothesis import strategies as st
from weasyprint import HTML

from excerpts.cli import main
from excerpts.system.resources import scores
from excerpts.workbook import render
from excerpts.workbook.render import filled_in, lay_out_text, whole_ranges

WEEK = str(scores() / "weeks" / "jonas-week-49.toml")
CHILD = str(scores() / "weeks" / "mila-week-49.toml")
COMMANDS = {
    "workbook": ["workbook", WEEK],
    "phone": ["workbook", WEEK, "--paper", "phone"],
    "child": ["workbook", CHILD],
    "sheet": ["cut", str(scores() / "gale-concerto-1.musicxml"), "15:3-16:2"],
    "slips": ["warmup", "--list", str(scores() / "autumn-scales.csv")],
    "lesson": ["lesson", WEEK],
    "notes": ["notes"],
}


def _facts(element: Element) -> tuple[object, ...]:
    """An element with all in it, without the white between elements, which prints nothing."""
    texts = tuple(text if text and text.strip() else "" for text in (element.text, element.tail))
    return element.tag, dict(element.attrib), texts, [_facts(child) for child in element]


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.long if name == "phone" else ()) for name in sorted(COMMANDS)],
)
def test_both_ways_of_reading_give_the_same(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pages: list[str] = []
    read = render._Page.__init__

    def listen(page: render._Page, html: str) -> None:
        pages.append(html)
        read(page, html)

    monkeypatch.setattr(render._Page, "__init__", listen)
    assert main([*COMMANDS[name], "-o", str(tmp_path / "a.pdf")]) == 0
    assert pages
    for html in pages:
        assert _facts(XML(html)) == _facts(tinyhtml5.parse(html, namespace_html_elements=False))


@pytest.mark.long
@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_our_sheet_shows_pages_as_the_page_makers_own_does(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert main([*COMMANDS[name], "-o", str(tmp_path / "ours.pdf")]) == 0
    asked: list[object] = []

    def theirs(page: HTML, forms: bool = False) -> object:
        asked.append(page)
        return HTML._ua_stylesheets(page, forms)

    monkeypatch.setattr(render._Page, "_ua_stylesheets", theirs)
    assert main([*COMMANDS[name], "-o", str(tmp_path / "theirs.pdf")]) == 0
    assert asked
    assert (tmp_path / "ours.pdf").read_bytes() == (tmp_path / "theirs.pdf").read_bytes()


@given(title=st.text(st.characters(codec="utf-8"), max_size=20))
def test_any_text_comes_to_a_page(title: str) -> None:
    page = filled_in("sheet.html", language="en", title=title, author="", footer="", sheet=[], copying="")
    found = lay_out_text(page, images={}, styles=["page.css"], page_rules="@page{size:A4}").metadata.title
    # XML 1.0, 2.2: what no XML may hold prints nothing.
    kept = [c for c in title if c >= " " and c not in "\ufffe\uffff"]
    assert "".join((found or "").split()) == "".join("".join(kept).split())


def test_a_tempo_is_not_broken_over_two_lines() -> None:
    """On a phone "crotchet =" stood at the end of a line and its number at the start of the next."""
    assert whole_ranges("goal: crotchet = 76") == 'goal: <span class="whole">crotchet = 76</span>'
    assert whole_ranges("Bars 41–48") == '<span class="whole">Bars 41–48</span>'
