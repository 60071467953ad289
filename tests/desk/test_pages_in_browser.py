"""Printed pages at the desk in a browser: one story by mouse and keys, from the numbers of bars to the printed box.

The page is engraved from music21's corpus; what the workbook prints is compared with the ink of the page.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from playwright.sync_api import Locator, Page, expect

from excerpts.paper import PaperLine
from excerpts.week import load_week
from excerpts.week.orders import Orders
from excerpts.workbook import build_workbook
from tests.desk.barriers import assert_no_barriers
from tests.desk.gestures import come_in, follow, go_to, open_week, undo
from tests.desk.running import RunningDesk
from tests.desk.test_added_pages import scan
from tests.desk.test_pages import Printed
from tests.paper.test_found import rendered

pytestmark = pytest.mark.browser
STAFF_MM = 7.5
"""Height of the staff in a workbook on A4 for a player of fifteen: as `tests/paper/test_cut.py` measures it."""


@pytest.fixture
def at(tmp_path: Path) -> Iterator[Printed]:
    printed = Printed(tmp_path)
    with printed.desk:
        yield printed


@pytest.fixture
def pages(at: Printed, desktop: Page) -> Page:
    """The page of the printed pages, looked at."""
    desktop.set_viewport_size({"width": 1280, "height": 1000})
    come_in(desktop, at.desk)
    go_to(desktop, at.desk, at.address)
    expect(bars(desktop)).to_have_count(10)
    return desktop


def bars(page: Page) -> Locator:
    return page.locator(".leaf .bar")


def middle(one: Locator) -> tuple[float, float]:
    box = one.bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=4)
    page.mouse.up()


def of_page(page: Page, x: float, y: float) -> tuple[float, float]:
    """A place of the page on the screen, in millimetres from its top left corner."""
    box = page.locator(".leaf").bounding_box()
    assert box
    return box["x"] + x / 210 * box["width"], box["y"] + y / 297 * box["height"]


def share_printed(pdf: bytes, line: PaperLine) -> float:
    """How much of the ink of a box stands somewhere on the pages of a workbook, in one piece."""
    dpi = 100
    own = rendered(line.pdf, round(dpi * STAFF_MM / line.staff_mm * 72 / 25.4)) < 110
    if line.box:
        left, right = (round(side * own.shape[1] / line.width_mm) for side in line.box)
        own = own[:, left + 2 : right - 2]
    best = 0.0
    with pdfium.PdfDocument(pdf) as document:
        for sheet in document:
            ink = np.array(sheet.render(scale=dpi / 72, grayscale=True).to_numpy()).reshape(
                -1, round(210 / 25.4 * dpi)
            )
            wide = ink < 160
            wide = (
                wide | np.roll(wide, 1, 0) | np.roll(wide, -1, 0) | np.roll(wide, 1, 1) | np.roll(wide, -1, 1)
            )
            hits = np.fft.irfft2(np.fft.rfft2(wide) * np.conj(np.fft.rfft2(own, wide.shape)), wide.shape)
            best = max(best, float(hits.max() / own.sum()))
    return best


def test_bars_get_their_numbers_and_are_boxed_changed_undone_and_printed(at: Printed, pages: Page) -> None:
    page = pages
    # Numbers: the first is typed, the others are those that were counted, taken by Enter.
    fields = page.locator(".gutter input")
    fields.nth(0).fill("41")
    fields.nth(0).press("Enter")
    expect(fields.nth(1)).to_be_focused()
    fields.nth(1).fill("47")
    fields.nth(1).press("Enter")
    expect(page.locator(".says").first).to_contain_text("5 bars are counted here, but 41 to 47 makes 6.")
    fields.nth(1).fill("46")
    fields.nth(1).press("Enter")
    fields.nth(2).press("Enter")
    expect(page.locator(".says")).to_have_count(0)
    assert "first_bars = {1 = [41, 46, 51]}" in at.text
    expect(bars(page).nth(6)).to_have_attribute("aria-label", "bar 47, page 1, line 2")
    # By drag over the end of a line.
    drag(page, middle(bars(page).nth(3)), middle(bars(page).nth(6)))
    expect(page.locator("#bars")).to_have_value("44-47")
    page.locator("#why label", has_text="shift").click()
    page.fill("#note", "Soft")
    page.click("#box-it")
    expect(page.locator("#which")).to_have_text("Box 2")
    box = load_week(at.path).boxes[1]
    assert (box.bars, box.why, box.note) == ("44-47", ("shift",), "Soft")
    # An edge by the mouse, then by keys.
    drag(page, middle(page.locator('.edge[data-side="0"]')), middle(bars(page).nth(5)))
    expect(page.locator("#bars")).to_have_value("46-47")
    page.locator('.edge[data-side="1"]').focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#bars")).to_have_value("46-48")
    assert load_week(at.path).boxes[1].bars == "46-48"
    # It is printed: what stands on the page in those bars stands in the workbook.
    week = load_week(at.path)
    cut = Orders(week).boxes[1].paper.made()
    assert cut is not None
    (line,) = cut.lines
    assert share_printed(build_workbook(week).pdf, line) > 0.9
    assert_no_barriers(page)
    # Undone step by step.
    for told in ("46-47", "44-47"):
        undo(page, page.locator("#undo-last"))
        expect(page.locator("#list li").nth(1)).to_contain_text(told)
    assert load_week(at.path).boxes[1].bars == "44-47"


def test_by_keys_alone_and_a_conflict_with_an_editor_outside(at: Printed, pages: Page) -> None:
    page = pages
    page.keyboard.press("m")
    expect(bars(page).nth(0)).to_be_focused()
    for key in ("ArrowDown", "Shift+ArrowRight"):
        page.keyboard.press(key)
    expect(page.locator("#where")).to_have_text("page 1, line 2, its bars 1 to 2")
    at.path.write_text(at.text + "# from outside\n", encoding="utf-8")
    page.keyboard.press("Enter")
    expect(page.locator("#theirs")).to_contain_text("# from outside")
    assert "systems" not in at.text
    page.click("#keep-ours")
    expect(page.locator("#which")).to_have_text("Box 2")
    assert 'systems = ["2: 0-2"]' in at.text
    assert "# from outside" in at.text
    page.keyboard.press("Escape")
    # A rectangle by keys: its left side into the bar, its lower side up to the upper staff.
    bars(page).nth(2).focus()
    page.keyboard.press("r")
    expect(page.locator('.edge[data-side="left"]')).to_be_focused()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#where")).to_have_text("a rectangle on page 1, line 1")
    page.keyboard.press("Enter")
    expect(page.locator("#which")).to_have_text("Box 3")
    assert load_week(at.path).boxes[2].area is not None
    page.click("#remove")
    expect(page.locator("#list li")).to_have_count(2)
    assert len(load_week(at.path).boxes) == 2


def test_a_rectangle_snaps_to_barlines_and_is_refused_where_there_is_no_music(
    at: Printed, pages: Page
) -> None:
    page = pages
    page.keyboard.down("Alt")
    start, end = middle(bars(page).nth(1)), middle(bars(page).nth(2))
    drag(page, (start[0], start[1] - 120), (end[0], end[1] + 120))
    page.keyboard.up("Alt")
    expect(page.locator("#where")).to_have_text("a rectangle on page 1, line 1")
    expect(page.locator(".drawn-here")).to_have_count(1)
    drag(page, of_page(page, 30, 200), of_page(page, 120, 240))
    expect(page.locator("#refused")).to_contain_text("nothing is printed in the area")
    page.keyboard.press("Escape")
    expect(page.locator(".drawn-here")).to_have_count(0)
    page.check("#by-rectangle")
    area = at.look()["systems"][1]
    drag(
        page,
        of_page(page, area["bars"][1][0] + 2, area["area"][1] - 3),
        of_page(page, area["bars"][3][0] - 2, area["area"][3] + 3),
    )
    expect(page.locator("#where")).to_have_text("page 1, line 2, its bars 2 to 3")
    page.click("#box-it")
    expect(page.locator("#which")).to_have_text("Box 2")
    assert 'systems = ["2: 1-3"]' in at.text


def test_a_file_that_is_dropped_becomes_pages_on_which_bars_are_boxed(
    page: Page, desk: RunningDesk, folder: Path
) -> None:
    """The photo of a telephone is refused at its place; a folder of two scans is one piece, boxed from page to page."""
    open_week(page)
    page.set_input_files("#score-file", {"name": "IMG_1.heic", "mimeType": "image/heic", "buffer": b"x"})
    expect(page.locator("#drop + .pages-fault")).to_contain_text(
        "IMG_1.heic: this is no page of music that can be read"
    )
    scans = [{"name": f"study {n}.png", "mimeType": "image/png", "buffer": scan()} for n in (1, 2)]
    page.set_input_files("#score-file", scans)  # type: ignore[arg-type]
    expect(page.locator("#list-piece .k-title input").last).to_be_focused()
    expect(page.locator("#told")).to_contain_text(
        "Copying or rearranging a printed edition may be restricted"
    )
    expect(page.locator("#drop + .pages-fault")).to_be_hidden()
    follow(page, page.locator("#list-piece a.to-part").last.click)
    expect(page.locator("#copying")).to_be_visible()
    upper, lower = page.locator("#page-1 .bar"), page.locator("#page-2 .bar")
    expect(upper).to_have_count(10)
    page.get_by_role("link", name="2", exact=True).click()
    expect(lower).to_have_count(10)
    upper.last.focus()
    page.keyboard.press("Space")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#where")).to_have_text("page 1, line 2, bar 5 to page 2, line 1, bar 1")
    page.keyboard.press("Enter")
    expect(page.locator("#which")).to_have_text("Box 2")
    text = (folder / "mila-11-30.toml").read_text(encoding="utf-8")
    assert 'pages = "study-1"' in text
    assert 'page = 1\nsystems = ["2: 4-5", "2/1: 0-1"]\n' in text
    expect(page.locator("#copying")).to_be_visible()  # until the page is shown anew: now they are in use
    page.reload()
    expect(page.locator("#copying")).to_have_count(0)
