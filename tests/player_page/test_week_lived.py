"""A week lived through on the page, by touch, and what the teacher's side makes of it (browser tier)."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from excerpts.cli import main
from tests.chromium import window
from tests.player_page.page_weeks import SHORT, page, week

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

pytestmark = pytest.mark.browser

DAY = 24 * 3600 * 1000
PAPER = (
    "--day mon --box 1 --tempo 54 --clean 3",
    "--day mon --box 1 --tempo 60 --clean 3",
    "--day mon --box 1 --tempo 66 --clean 3",
    "--day mon --box 1 --tempo 72 --clean 2",
    "--day mon --run-through air",
    "--day mon --run-through song --bars 12",
    "--day tue --box 1 --tempo 60 --clean 3",
    "--day tue --box 1 --tempo 66 --clean 3",
    "--day tue --box 1 --tempo 72 --clean 3",
    "--day tue --box 1 --tempo 76 --clean 3",
    "--day wed --box 1 --tempo 72 --clean 3",
    "--day wed --box 1 --tempo 76 --clean 3",
    "--day wed --box 1 --tempo 80 --clean 4",
    "--day wed --box 2 --clean 1",
    "--day thu",
    "--day fri --box 1 --tempo 80 --clean 3 --bars 2",
)
"""The same week as it would stand on paper, typed row by row."""


class Player:
    """Somebody who uses the page."""

    def __init__(self, shown: Page) -> None:
        self.page = shown

    def go(self, view: str) -> None:
        self.page.evaluate("(view) => { location.hash = view; }", view)
        self.page.locator(f"#{view}").wait_for()

    def tap(self, at: Locator) -> None:
        """Tap, and wait until the page has heard the click that a browser makes of it a moment later."""
        self.page.evaluate(
            "() => { window.heard = new Promise((done) => addEventListener('click', done, { once: true })); }"
        )
        at.tap()
        self.page.evaluate("() => window.heard.then(() => {})")

    def press(self, name: str) -> None:
        shown = self.page.locator(".view:not([hidden]), dialog[open]")
        self.tap(shown.get_by_role("button", name=name, exact=True).first)

    def clean(self, times: int) -> None:
        for _ in range(times):
            self.press("Clean")

    def up(self) -> None:
        """Take the offer of the next tempo."""
        self.tap(self.page.locator(".view:not([hidden]) .offer button"))

    def tempo(self) -> str:
        return self.page.locator(".view:not([hidden]) .tempo").inner_text()

    def text(self, where: str) -> str:
        return self.page.locator(where).first.inner_text()

    def next_day(self) -> None:
        self.page.clock.fast_forward(DAY)
        self.page.reload()


@pytest.fixture
def player(browser: Browser, tmp_path: Path) -> Iterator[Player]:
    telephone = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "timezone_id": "Europe/London"}
    asked: list[str] = []
    with window(browser, silent=True, accept_downloads=True, **telephone) as shown:
        shown.context.clock.install(time="2026-11-30T16:00:00")
        shown.on("request", lambda request: asked.append(request.url))
        shown.goto(page(tmp_path).as_uri())
        yield Player(shown)
    assert {one.split(":")[0] for one in asked} <= {"file", "blob", "data"}


def test_a_week_on_the_page_is_a_week_on_paper(player: Player, tmp_path: Path) -> None:
    _monday(player)
    _tuesday(player)
    _wednesday(player)
    _thursday_and_friday(player)
    sent = _sent_home(player, tmp_path)

    one = week(tmp_path)
    log = tmp_path / "page.csv"
    assert main(["log", str(one.path), "--from", str(sent), "--yes", "--log", str(log)]) == 0
    once = log.read_bytes()
    assert main(["log", str(one.path), "--from", str(sent), "--yes", "--log", str(log)]) == 0
    assert log.read_bytes() == once

    paper = tmp_path / "paper.csv"
    for row in PAPER:
        assert main(["log", str(one.path), "--log", str(paper), *row.split()]) == 0
    decided = []
    for name in (log, paper):
        out = tmp_path / f"{name.stem}-next.toml"
        assert main(["next", str(one.path), "--log", str(name), "-o", str(out)]) == 0
        decided.append(out.read_text(encoding="utf-8"))
    assert decided[0] == decided[1]
    assert "[[retired]]" in decided[0]  # the goal on two days


def _monday(player: Player) -> None:
    shown = player.page
    assert "Monday 30 November" in player.text(".day:not([hidden]) h3")
    first = shown.locator(".day:not([hidden]) .circle").first
    player.tap(first)
    assert first.is_checked()

    player.go("stage")  # the order as it was drawn, and nothing but the name
    player.press("Begin the run-through")
    names = []
    for _ in range(2):
        names.append(player.text("dialog .name"))
        assert shown.locator("dialog svg").count() == 0
        player.tap(shown.locator("dialog .main"))
    assert set(names) == {"Evening Song", names[names[0] == "Evening Song"]}
    song = shown.locator("dialog fieldset", has_text="Evening Song")
    song.locator("textarea").first.fill("12")
    player.press("Write it down")

    player.go("box-1")
    for _ in range(3):
        player.clean(3)
        player.up()
    assert player.tempo() == "crotchet = 72"
    player.clean(2)
    assert shown.locator("#box-1").get_by_role("button", name="Faster").is_disabled()  # three steps up a day
    player.press("A slip")
    assert player.text("#box-1 .count") == "1"
    player.press("A slip")
    assert "slower" in player.text("#box-1 .offer")
    assert player.tempo() == "crotchet = 72"  # offered, not done
    player.clean(1)
    shown.reload()
    assert player.text("#box-1 .count") == "1"
    assert player.tempo() == "crotchet = 72"


def _tuesday(player: Player) -> None:
    player.next_day()
    player.go("box-1")
    assert player.tempo() == "crotchet = 60"  # one below what held on Monday
    for more in (True, True, True, False):
        player.clean(3)
        if more:
            player.up()
    assert player.tempo() == "crotchet = 76"
    assert "Enough steps up" in player.text("#box-1 .offer")


def _wednesday(player: Player) -> None:
    shown = player.page
    player.next_day()
    player.go("box-1")
    assert player.tempo() == "crotchet = 72"
    player.clean(3)
    player.up()
    player.clean(3)
    player.up()
    player.press("Playing view")
    view = shown.locator("dialog.playing")
    assert "crotchet = 80" in view.inner_text()
    shown.keyboard.press("PageDown")
    shown.keyboard.press("ArrowRight")
    shown.keyboard.press("Space")
    player.tap(
        view.locator(".all")
    )  # last: a moment after a tap Chromium lets go of the button, and of a Space in it
    assert player.text("dialog .far-count") == "4"
    size = shown.evaluate("parseFloat(getComputedStyle(document.querySelector('.far-count')).fontSize)")
    assert size > 150
    shown.keyboard.press("PageUp")
    assert player.text("dialog .far-count") == "3"
    player.press("Close")
    player.go("box-2")
    player.clean(1)


def _thursday_and_friday(player: Player) -> None:
    shown = player.page
    player.next_day()
    player.go("days")
    day = shown.locator(".day:not([hidden])")
    assert "45 min (incl. 5 rest)" in day.locator("h3").inner_text()
    items = day.locator("li", has_text="bars 1–2")
    player.tap(items.get_by_role("button").last)
    shown.clock.run_for(60_000)
    assert "left" in items.locator(".left").inner_text()
    left = _seconds(items.locator(".left").inner_text())
    shown.reload()
    shown.clock.run_for(60_000)
    assert 0 <= left - _seconds(items.locator(".left").inner_text()) <= 2  # it stands still, and is kept
    for item in day.locator("li").all():
        if not item.locator("button").is_visible() or "time is up" in item.inner_text():
            continue
        player.tap(item.locator("button"))
        shown.clock.run_for(20 * 60_000)
    assert "time is up" in player.text("#messages")
    assert "Time for a break: put the instrument down for 5 minutes" in player.text("#messages")
    player.tap(shown.get_by_role("button", name="I had a break"))
    assert "Time for a break" not in player.text("#messages")

    player.go("box-1")
    assert player.text("#box-1 .minutes-of-box .left") == "time is up"
    assert "Enough for today" in player.text("#box-1 .offer")  # minutes go before counts

    player.next_day()
    player.go("box-1")
    assert player.tempo() == "crotchet = 76"
    player.press("Faster")
    player.clean(3)
    assert "last tempo of this week" in player.text("#box-1 .offer")
    shown.locator("#box-1 .words textarea").first.fill("2")
    player.press("Record")
    shown.wait_for_function("() => document.querySelector('#box-1 .take').innerText.includes('Recording.')")
    shown.wait_for_timeout(500)
    player.press("Stop recording")
    shown.wait_for_function("() => document.querySelector('#box-1 audio').src.startsWith('blob:')")
    shown.wait_for_function("() => document.querySelector('#box-1 audio').readyState > 0")
    assert shown.locator("#box-1 .take a").get_attribute("download") == "take.webm"
    shown.reload()
    assert shown.locator("#box-1 audio").get_attribute("src") is None


def _seconds(left: str) -> int:
    minutes, seconds = left.split()[0].split(":")
    return 60 * int(minutes) + int(seconds)


def _sent_home(player: Player, tmp_path: Path) -> Path:
    shown = player.page
    player.go("home")
    rows = shown.locator("#home-work .rows label").all_inner_texts()
    assert len(rows) == len(PAPER)
    assert "Thursday 3 December: practised" in rows
    assert "Friday 4 December: box 1, crotchet = 80, 3 clean in a row, broke down at bar 2" in rows
    with shown.expect_download() as saved:
        player.press("Save as a file")
    sent = tmp_path / "sent.csv"
    shutil.copy(saved.value.path(), sent)
    assert saved.value.suggested_filename == "2026-11-30.csv"
    text = sent.read_text(encoding="utf-8")
    assert ":" not in text  # days only
    assert shown.locator("#home-work textarea.csv").input_value() == text
    assert "sent before" in player.text("#home-work .rows")
    return sent


def test_something_hurts_stops_everything(player: Player) -> None:
    shown = player.page
    player.go("box-1")
    player.press("Metronome")
    shown.wait_for_function(
        "() => document.querySelector('#box-1 .beat .main').textContent.startsWith('Stop')"
    )
    player.go("days")
    player.tap(shown.locator(".day:not([hidden]) .time").first)
    assert shown.get_by_role("button", name="Pause").count() == 1
    player.tap(shown.locator("#hurts"))
    said = player.text("dialog.hurting")
    assert "If anything hurts, stop, rest and tell your teacher" in said
    assert "sing it" in said
    assert shown.get_by_role("button", name="Pause").count() == 0
    player.press("Close")
    player.go("home")
    assert "Something hurt" not in player.text("#home-work .rows")  # nobody is told
    player.tap(shown.locator("#hurts"))
    player.press("Put it into the notes for my teacher")
    player.press("Close")
    assert "“Something hurt.”" in player.text("#home-work .rows")
    player.go("box-1")
    player.press("Playing view")
    player.press("Something hurts")  # there, too
    assert "Everything is off" in player.text("dialog.hurting")
    assert shown.locator("dialog.hurting").get_by_role("button", name="Hear it").is_visible()


def test_the_week_is_what_the_tests_think() -> None:
    assert SHORT.count("[[box]]") == 2
