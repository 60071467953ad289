"""From an empty folder to the printed first week: by mouse, and again by keyboard alone; and the actions it takes."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.desk.running import RunningDesk
from tests.music import bars_of

pytestmark = pytest.mark.browser

MOST_ACTIONS = 30
"""Clicks, drags and filled fields from nothing to a printed first week with three boxes."""

BOXES = (("2-3", "crossing", "88"), ("5", "shift", "72"), ("6-7", "rhythm", "60"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with nothing in it."""
    made = tmp_path / "studio"
    made.mkdir()
    return made


class Counted:
    """What a teacher does with the mouse, counted."""

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


def told(folder: Path) -> list[tuple[str, list[str], int]]:
    """The boxes of the one week file that there is."""
    (file,) = folder.glob("ada-*.toml")
    raw = tomllib.loads(file.read_text(encoding="utf-8"))
    return [(box["bars"], box["why"], box["target"]) for box in raw["box"]]


WANTED = [(bars, [why], int(target)) for bars, why, target in BOXES]


def test_by_mouse_in_at_most_thirty_actions(
    page: Page, folder: Path, tmp_path: Path, desk: RunningDesk
) -> None:
    score = tmp_path / "Slow Air.musicxml"
    score.write_bytes(bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 8))
    act = Counted(page)
    act.click("New player")
    act.fill('#player [name="name"]', "Ada Quill")
    act.fill('#player [name="lesson"]', "2026-11-30")
    act(lambda: page.locator("#player-form button").first.click())
    page.wait_for_url(re.compile("/week/"))
    act(lambda: page.locator("#score-file").set_input_files(score))
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
    opened.value.wait_for_url(re.compile("/file/"), timeout=90_000)
    assert desk.get(opened.value.url.removeprefix(desk.address)).body.startswith(b"%PDF")
    assert told(folder) == WANTED
    assert act.count <= MOST_ACTIONS
    assert len(list(folder.glob("ada-quill-2026-11-30.pdf"))) == 1


def test_by_keyboard_alone(page: Page, folder: Path) -> None:
    (folder / "scores").mkdir()
    (folder / "scores" / "air.musicxml").write_bytes(bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 8))
    keys = page.keyboard
    keys.press("n")
    expect(page.locator('#player [name="name"]')).to_be_focused()
    keys.type("Ada Quill")
    tab_to(page, '[name="lesson"]')
    keys.type("11302026")  # month, day, year: the order of this browser's language
    keys.press("Enter")
    page.wait_for_url(re.compile("/week/"))
    keys.press("b")
    expect(page.locator("#s-box")).to_be_focused()
    tab_to(page, "[data-take] button")
    keys.press("Enter")
    expect(page.locator("#new-bars")).to_be_focused()
    for bars, why, target in BOXES:
        keys.type(bars)
        keys.press("Tab")
        keys.type(why[:5])
        keys.press("Tab")
        keys.type(target)
        keys.press("Enter")  # and on at once: nothing that is typed meanwhile is lost
    expect(page.locator("#list-box > li")).to_have_count(3)
    expect(page.locator("#new-bars")).to_be_focused()
    expect(page.locator("#new-bars")).to_have_value("")
    with page.context.expect_page() as opened:
        keys.press("Control+Enter")
    opened.value.wait_for_url(re.compile("/file/"), timeout=90_000)
    assert told(folder) == WANTED


def tab_to(page: Page, what: str, most: int = 60) -> None:
    """Press Tab until an element has the keyboard."""
    for _ in range(most):
        if page.evaluate("what => document.activeElement.matches(what)", what):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{what} is not reached by {most} tabs")
