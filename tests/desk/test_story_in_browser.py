"""From an empty folder to the printed second week: by mouse, and again by keyboard alone; and the actions it takes.

Counted is what a teacher does: a click, a drag, a field that is filled or chosen in, a key that does something by
itself. Tab and arrow keys from field to field are not. Both weeks are really built, and their pages are read.
"""

from __future__ import annotations

import re
import subprocess
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.desk.dropping import drop
from tests.desk.gestures import go_to
from tests.desk.running import RunningDesk
from tests.music import bars_of

pytestmark = pytest.mark.browser

MOST_ACTIONS = 30
"""From nothing to a printed first week with three boxes."""

MOST_NEXT = 12
"""From what came home to the printed next week, when nothing is new."""

MOST_NEW = 20
"""The same with a new box and a note."""

BOXES = (("2-3", "crossing", "88"), ("5", "shift", "72"), ("6-7", "rhythm", "60"))
AIR = bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 8)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with nothing in it."""
    made = tmp_path / "studio"
    made.mkdir()
    return made


class Teacher:
    """What a teacher does in a browser, counted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def __call__(self, do: Callable[[], object]) -> None:
        do()
        self.count += 1

    def click(self, name: str) -> None:
        self(lambda: self.page.get_by_role("button", name=name, exact=True).click())

    def fill(self, what: str, text: str) -> None:
        self(lambda: self.page.locator(what).fill(text))

    def choose(self, what: str, value: str) -> None:
        self(lambda: self.page.locator(what).select_option(value))

    def key(self, key: str) -> None:
        self(lambda: self.page.keyboard.press(key))

    def type(self, text: str) -> None:
        """Fill the field that has the keyboard."""
        self(lambda: self.page.keyboard.type(text))

    def tab_to(self, what: str) -> None:
        for _ in range(80):
            if self.page.evaluate("what => document.activeElement.matches(what)", what):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{what} is not reached by Tab")

    def follow(self, what: str) -> None:
        """Click a link, and wait for its page."""
        with self.page.expect_navigation():
            self(lambda: self.page.locator(what).first.click())
        self.page.wait_for_load_state()

    def begun(self) -> int:
        """Begin to count anew."""
        before, self.count = self.count, 0
        return before


def read(path: Path) -> str:
    """The text of a PDF, by poppler's pdftotext."""
    return subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], check=True, capture_output=True, text=True
    ).stdout


def boxes_of(path: Path) -> list[dict[str, Any]]:
    boxes: list[dict[str, Any]] = tomllib.loads(path.read_text(encoding="utf-8"))["box"]
    return boxes


def assert_first_week(folder: Path) -> None:
    """Its file has the three boxes; its pages have them, and the days."""
    (file,) = folder.glob("ada-*.toml")
    assert [(box["bars"], box["why"], box["target"]) for box in boxes_of(file)] == [
        (bars, [why], int(target)) for bars, why, target in BOXES
    ]
    text = read(folder / "ada-quill-2026-11-30.pdf")
    for bars in ("bars 2–3", "bar 5", "bars 6–7"):
        assert bars in text
    assert "30 November to 6 December 2026" in text
    for day in ("Mon 30", "Tue 1", "Sat 5", "Sun 6"):
        assert day in text


def assert_second_week(folder: Path, *bars: str) -> None:
    """The boxes of the second week are on its pages, with its days."""
    text = read(folder / "ada-quill-2026-12-07.pdf")
    for one in bars:
        assert one in text
    assert "7 to 13 December 2026" in text
    for day in ("Mon 7", "Tue 8", "Sat 12", "Sun 13"):
        assert day in text


def printed(page: Page) -> None:
    """Wait until the workbook is there and shown."""
    expect(page.locator("#told")).to_contain_text("Made: ")
    expect(page.locator("#viewer")).to_have_attribute("src", re.compile("/file/"))


def test_by_mouse(page: Page, folder: Path, tmp_path: Path, desk: RunningDesk) -> None:
    """With a score that is dropped in; a week later paper comes home, and a box and a note are new."""
    expect(page.locator(".three li")).to_have_count(3)
    score = tmp_path / "Slow Air.musicxml"
    score.write_bytes(AIR)
    act = Teacher(page)
    act.click("New player")
    act.fill('#player [name="name"]', "Ada Quill")
    act.fill('#player [name="lesson"]', "2026-11-30")
    with page.expect_navigation():
        act(lambda: page.locator("#player-form button").first.click())
    page.wait_for_load_state()
    act(lambda: drop(page, "#drop", score.name, AIR))
    expect(page.locator("#list-piece > li")).to_have_count(1)
    for number, (bars, why, target) in enumerate(BOXES, start=1):
        act.fill('[data-add="box"] [data-key="bars"]', bars)
        act.choose('[data-add="box"] [data-key="why"]', why)
        act.fill('[data-add="box"] [data-key="target"]', target)
        act.click("Add the box")
        expect(page.locator("#list-box > li")).to_have_count(number)
    act.fill("#f-week-focus", "Long bows")
    with page.context.expect_page() as opened:
        act.click("Make the workbook")
    opened.value.wait_for_url(re.compile("/file/"))
    assert desk.get(opened.value.url.removeprefix(desk.address)).body.startswith(b"%PDF")
    opened.value.close()
    assert act.begun() <= MOST_ACTIONS
    assert_first_week(folder)

    go_to(page, desk, "/")
    act.follow(".players a[href^='/lesson/']")
    act.begun()  # from what came home
    page.get_by_role("button", name="Paper").click()
    act.count += 1
    for box, text in enumerate(("mon 60 5, wed 72 5", "tue 60 3", "thu 50 5")):
        act.fill(f".box:nth-of-type({box + 1}) .line", text)
    act(lambda: page.locator(".box .heard").nth(0).get_by_label("clean", exact=True).click())
    act.fill(".new .bars", "1-2")
    act.fill(".new .why", "shift, thumb late")
    act.fill(".new .goal", "66")
    act.fill("#notes", "Long bows")
    act(lambda: page.get_by_role("button", name="Write the next week and print it").click())
    printed(page)
    assert act.count <= MOST_NEW
    (second,) = folder.glob("ada-quill-2026-12-07.toml")
    assert [box["bars"] for box in boxes_of(second)] == ["5", "6-7", "1-2"]
    assert_second_week(folder, "bar 5", "bars 6–7", "bars 1–2", "Long bows")


def test_by_keyboard_alone(page: Page, folder: Path) -> None:
    """With a score that is in the studio already; a week later nothing comes home, and nothing is new."""
    expect(page.locator(".three li")).to_have_count(3)
    (folder / "scores").mkdir()
    (folder / "scores" / "air.musicxml").write_bytes(AIR)
    act = Teacher(page)
    act.key("n")
    expect(page.locator('#player [name="name"]')).to_be_focused()
    act.type("Ada Quill")
    act.tab_to('[name="lesson"]')
    act.type("11302026")  # month, day, year: the order of this browser's language
    with page.expect_navigation():
        act.key("Enter")
    page.wait_for_load_state()
    act.key("b")
    expect(page.locator("#s-box")).to_be_focused()
    act.tab_to("[data-take] button")
    act.key("Enter")
    expect(page.locator("#new-bars")).to_be_focused()
    for bars, why, target in BOXES:
        act.type(bars)
        page.keyboard.press("Tab")
        act.type(why[:5])
        page.keyboard.press("Tab")
        act.type(target)
        act.key("Enter")  # and on at once: nothing that is typed meanwhile is lost
    expect(page.locator("#list-box > li")).to_have_count(3)
    expect(page.locator("#new-bars")).to_be_focused()
    expect(page.locator("#new-bars")).to_have_value("")
    with page.context.expect_page() as opened:
        act.key("Control+Enter")
    opened.value.wait_for_url(re.compile("/file/"))
    opened.value.close()
    assert act.begun() <= MOST_ACTIONS
    assert_first_week(folder)

    page.bring_to_front()
    page.keyboard.press("Escape")  # out of the field
    with page.expect_navigation():
        page.keyboard.press("g")
        page.keyboard.press("s")
    page.wait_for_load_state()
    act.tab_to(".players a[href^='/lesson/']")
    with page.expect_navigation():
        act.key("Enter")
    page.wait_for_load_state()
    act.begun()  # from what came home
    act.key("n")
    expect(page.locator(".record").first).to_be_hidden()
    with page.expect_response("**/look?*"):
        act.key("1")
    act.key("w")
    printed(page)
    assert act.count <= MOST_NEXT
    assert_second_week(folder, "bar 5", "bars 6–7")
