"""Boxes on printed pages at the desk: pictures, bars that are found, rectangles (default tier and browser).

The page is engraved from music21's corpus; the room that cuts paper makes the box again.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from excerpts.week import load_week
from excerpts.week.orders import Orders
from tests.desk.gestures import come_in
from tests.desk.running import RunningDesk
from tests.paper.test_cut import WEEK, choral


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "studio.toml").write_text("format = 1\n", encoding="utf-8")
    (tmp_path / "choral.pdf").write_bytes(choral())
    (tmp_path / "ada.toml").write_text(WEEK, encoding="utf-8")
    return tmp_path


def address(desk: RunningDesk) -> str:
    return f"/pages/{desk.desk.studio.players()[0].key}/choral"


def test_a_page_is_a_picture_with_its_bars(folder: Path) -> None:
    with RunningDesk(folder) as desk:
        page = desk.get(address(desk)).text
        assert '"systems": [{"area"' in page
        picture = desk.get(f"{address(desk)}/1/picture")
        assert picture.headers["content-type"] == "image/png"
        assert picture.body.startswith(b"\x89PNG")
        assert desk.get(f"{address(desk)}/9").status == 404
        assert desk.get(address(desk).replace("choral", "other")).status == 404
        led = desk.get(address(desk).replace("/pages/", "/part/"))
        assert (led.status, led.headers["location"]) == (303, address(desk))


def test_boxes_are_written_and_taken_away(folder: Path) -> None:
    path = folder / "ada.toml"
    with RunningDesk(folder) as desk:

        def write(**said: Any) -> Any:
            found = re.search(r'"digest": "(\w+)"', desk.get(address(desk)).text)
            assert found
            return desk.post(f"{address(desk)}/box", {"digest": found[1], "page": 1, **said})

        assert (
            write(do="add", systems=["1: 1-4", "2: 0-2"], fields={"bars": "2-7", "note": "Soft"}).status
            == 200
        )
        assert path.read_text(encoding="utf-8").endswith(
            'id = "choral-2-7"\npiece = "choral"\nbars = "2-7"\npage = 1\n'
            'systems = ["1: 1-4", "2: 0-2"]\nnote = "Soft"\n'
        )
        cut = Orders(load_week(path)).boxes[1].paper.made()
        assert cut is not None
        assert len(cut.lines) == 2
        assert write(do="add", area=[10, 20.04, 90, 60]).status == 200
        assert "area = [10.0, 20.0, 90.0, 60.0]" in path.read_text(encoding="utf-8")
        before = path.read_bytes()
        for said in (
            {"do": "add", "area": ["x", 1, 2, 3]},
            {"do": "add", "area": [90, 20, 10, 60]},
            {"do": "add", "systems": ["first line"]},
            {"do": "add"},
            {"do": "remove", "id": "nobody"},
            {"do": "burn"},
        ):
            assert write(**said).status in {404, 422}, said
        assert path.read_bytes() == before
        assert write(do="remove", id="choral-2-7").status == 200
        assert "choral-2-7" not in path.read_text(encoding="utf-8")


@pytest.mark.browser
def test_bars_by_drag_and_keys_and_a_rectangle(folder: Path, browser: Browser) -> None:
    path = folder / "ada.toml"
    with RunningDesk(folder) as desk:
        context = browser.new_context(viewport={"width": 1280, "height": 900}, bypass_csp=True)
        page = context.new_page()
        come_in(page, desk)
        page.goto(f"{desk.address}{address(desk)}")
        bars = page.locator("#sheet .bar")
        expect(bars).to_have_count(10)
        one, other = bars.nth(1).bounding_box(), bars.nth(3).bounding_box()
        assert one
        assert other
        page.mouse.move(one["x"] + 20, one["y"] + 40)
        page.mouse.down()
        page.mouse.move(other["x"] + 20, other["y"] + 40, steps=4)
        page.mouse.up()
        expect(page.locator("#which")).to_have_text("Picked: 1: 1-4")
        page.fill("#bars", "2-4")
        page.click("#box-it")
        expect(page.locator("#list li")).to_have_count(2)
        bars.nth(4).focus()
        for key in ("Shift+ArrowRight", "Enter"):
            page.keyboard.press(key)
        expect(page.locator("#list li")).to_have_count(3)
        sheet = page.locator("#sheet").bounding_box()
        assert sheet
        page.mouse.move(sheet["x"] + 200, sheet["y"] + 560)
        page.mouse.down()
        page.mouse.move(sheet["x"] + 500, sheet["y"] + 640, steps=4)
        page.mouse.up()
        expect(page.locator(".drawn-here")).to_be_visible()
        page.keyboard.press("Escape")
        expect(page.locator(".drawn-here")).to_have_count(0)
        assert 'systems = ["1: 1-4"]' in path.read_text(encoding="utf-8")
        assert 'systems = ["1: 4-5", "2: 0-1"]' in path.read_text(encoding="utf-8")
        assert [one["id"] for one in Axe().run(page).response["violations"]] == []
        context.close()
