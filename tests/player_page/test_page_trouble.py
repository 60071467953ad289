"""What can go wrong around a page: each is told, and nothing is lost that can be kept (browser tier).

Outside check: axe-core (Deque's rules for WCAG 2.2) finds nothing on any view.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from tests.chromium import window
from tests.desk.barriers import assert_no_barriers
from tests.player_page.page_weeks import CHILD, HOSTILE, SHORT, page

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

pytestmark = pytest.mark.browser

HOUR = 3600 * 1000
DENIED = (
    "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('no', 'SecurityError') }})"
)
NO_MICROPHONE = (
    "navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('no', 'NotAllowedError'))"
)
TELEPHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """Opens a page at a time of the clock; a fault of its script fails the test."""
    with ExitStack() as until:

        def opener(
            text: str = SHORT,
            *,
            at: str = "2026-11-30T16:00:00",
            script: str = "",
            address: str = "",
            **how: Any,
        ) -> Page:
            shown = until.enter_context(
                window(browser, silent=True, **{"timezone_id": "Europe/London", **how})
            )
            if how.get("java_script_enabled", True):
                shown.context.clock.install(time=at)
            if script:
                shown.context.add_init_script(script)
            shown.goto(address or page(tmp_path, text).as_uri())
            return shown

        yield opener


def go(shown: Page, view: str) -> None:
    shown.evaluate("(view) => { location.hash = view; }", view)
    shown.locator(f"#{view}").wait_for()


def press(shown: Page, name: str) -> None:
    shown.locator(".view:not([hidden]), dialog[open]").get_by_role(
        "button", name=name, exact=True
    ).first.click()


def messages(shown: Page) -> Locator:
    """What the page tells on every view."""
    return shown.locator("#messages")


def test_without_scripts_everything_can_be_read(opened: Callable[..., Page]) -> None:
    shown = opened(java_script_enabled=False, **TELEPHONE)
    for seen in ("#day-2026-12-06", "#box-1 svg >> nth=0", "#box-2", "#music", "#care", "noscript >> nth=0"):
        assert shown.locator(seen).is_visible(), seen
    shown.locator("#hurts").click()
    expect(shown).to_have_url(re.compile("#care$"))


def test_a_store_that_is_refused_is_told_and_all_goes_on(opened: Callable[..., Page]) -> None:
    shown = opened(script=DENIED)
    expect(messages(shown)).to_contain_text("keeps nothing")
    shown.locator(".day:not([hidden]) .circle").first.click()
    go(shown, "box-1")
    for _ in range(3):
        press(shown, "Clean")
    expect(shown.locator("#box-1 .count")).to_have_text("3")
    go(shown, "home")
    expect(shown.locator("#home-work .rows")).to_contain_text("3 clean in a row")
    with shown.expect_download() as saved:
        press(shown, "Save as a file")
    assert "box,one,54,crotchet,3" in Path(saved.value.path()).read_text(encoding="utf-8")


def test_a_microphone_that_is_refused_is_told(opened: Callable[..., Page]) -> None:
    shown = opened(script=NO_MICROPHONE)
    go(shown, "box-1")
    press(shown, "Record")
    shown.get_by_text("does not let the page record").wait_for()
    assert shown.locator("#box-1 audio").is_hidden()


def test_two_tabs_write_beside_each_other(opened: Callable[..., Page]) -> None:
    one = opened()
    go(one, "box-1")
    two = one.context.new_page()
    two.goto(one.url)
    for shown in (one, two, one, two, two):
        press(shown, "Clean")
    for shown in (one, two):
        expect(shown.locator("#box-1 .count")).to_have_text("5")
    press(one, "A slip")
    two.get_by_text("4", exact=True).first.wait_for()
    go(two, "days")
    two.locator(".day:not([hidden]) .circle").nth(1).click()
    go(one, "days")
    expect(one.locator(".day:not([hidden]) .circle").nth(1)).to_be_checked()


def test_a_new_week_in_an_old_tab_is_told_and_its_notes_still_go(
    opened: Callable[..., Page], tmp_path: Path
) -> None:
    old = opened()
    go(old, "box-1")
    press(old, "Clean")
    later = page(
        tmp_path, SHORT.replace("2026-11-30", "2026-12-07").replace("2026-12-05", "2026-12-12"), "next.html"
    )
    new = old.context.new_page()
    new.goto(later.as_uri())
    old.get_by_text("A newer page was opened").wait_for()
    press(old, "Clean")
    expect(old.locator("#box-1 .count")).to_have_text("2")
    go(new, "home")
    rows = new.locator("#home-work .rows")
    expect(rows).to_contain_text("2 clean in a row")  # of the week before, not sent yet
    press(new, "Copy as text")
    new.locator("#home-work [role=status]").get_by_text("Copied").or_(new.get_by_text("is marked")).wait_for()
    expect(rows).to_contain_text("sent before")
    assert not rows.locator("input").first.is_checked()
    assert new.get_by_role("button", name="Save as a file").is_disabled()
    old.reload()
    expect(messages(old)).to_contain_text("A newer page was opened")


def test_what_cannot_be_read_is_put_aside(opened: Callable[..., Page]) -> None:
    shown = opened()
    key = shown.evaluate("Object.keys(localStorage).find((key) => key.endsWith('2026-11-30')) ?? ''")
    if not key:
        go(shown, "box-1")
        press(shown, "Clean")
        key = shown.evaluate("Object.keys(localStorage).find((key) => key.endsWith('2026-11-30'))")
    shown.evaluate("(key) => localStorage.setItem(key, '{broken')", key)
    shown.reload()
    press(shown, "Clean")
    expect(shown.locator("#box-1 .count")).to_have_text("1")
    assert shown.evaluate("(key) => localStorage.getItem(`${key}/unread`)", key) == "{broken"
    assert "Ada" not in shown.evaluate("JSON.stringify(localStorage)")  # no name on the device


def test_midnight_belongs_to_the_day_that_it_ends(opened: Callable[..., Page]) -> None:
    shown = opened(at="2026-12-01T23:50:00")
    go(shown, "box-1")
    press(shown, "Clean")
    shown.clock.run_for(20 * 60 * 1000)
    press(shown, "Clean")
    expect(shown.locator("#box-1 .count")).to_have_text("2")
    expect(messages(shown)).to_contain_text("past midnight")
    expect(messages(shown)).to_contain_text("Tuesday 1 December")
    shown.clock.fast_forward(2 * HOUR)
    shown.reload()
    expect(messages(shown)).not_to_contain_text("past midnight")
    expect(shown.locator("#box-1 .count")).to_have_text("0")
    press(shown, "Clean")
    go(shown, "home")
    said = shown.locator("#home-work .rows").inner_text()
    assert "Tuesday 1 December: box 1, crotchet = 54, 2 clean" in said
    assert "Wednesday 2 December: box 1, crotchet = 54, 1 clean" in said


def test_summer_time_begins(opened: Callable[..., Page]) -> None:
    """On 29 March 2026 in London 1:00 is followed by 2:00: the minutes and the day go on."""
    text = SHORT.replace("2026-11-30", "2026-03-23").replace("2026-12-05", "2026-04-18")
    shown = opened(text, at="2026-03-29T00:58:30Z")
    expect(shown.locator(".day:not([hidden]) h3")).to_contain_text("Sunday 29 March")
    item = shown.locator(".day:not([hidden]) li").last
    item.locator("button").click()
    shown.clock.run_for(100_000)
    assert shown.evaluate("new Date().getHours()") == 2
    left = item.locator(".left").inner_text()
    assert left.startswith(("0:1", "0:2"))  # of two minutes
    expect(messages(shown)).not_to_contain_text("midnight")


def test_the_minutes_stand_still_while_nobody_sees_the_page(opened: Callable[..., Page]) -> None:
    """A page that is hidden is told so by the browser (here by a stand-in); the screen is kept awake until then."""
    shown = opened(script=_AWAKE)
    item = shown.locator(".day:not([hidden]) li").first
    item.locator("button").click()
    shown.wait_for_function("() => window.held === 1")
    shown.clock.run_for(20_000)
    shown.evaluate("() => { window.away = true; document.dispatchEvent(new Event('visibilitychange')); }")
    left = item.locator(".left").inner_text()
    assert left in ("0:40 left", "0:39 left", "0:38 left")
    expect(messages(shown)).to_contain_text("stood still")
    shown.wait_for_function("() => window.held === 0")
    shown.clock.run_for(60_000)
    shown.evaluate("() => { window.away = false; document.dispatchEvent(new Event('visibilitychange')); }")
    assert item.locator(".left").inner_text() == left
    assert item.locator("button").inner_text() == "Go on"


_AWAKE = """
window.held = 0;
Object.defineProperty(document, "hidden", { get: () => Boolean(window.away) });
const lock = { addEventListener() {}, release: async () => { window.held--; } };
Object.defineProperty(navigator, "wakeLock", { value: { request: async () => { window.held++; return lock; } } });
"""


def test_a_screen_that_cannot_be_kept_awake_is_told(opened: Callable[..., Page]) -> None:
    shown = opened(script='Object.defineProperty(navigator, "wakeLock", { value: undefined });')
    shown.locator(".day:not([hidden]) li button").first.click()
    shown.get_by_text("cannot keep the screen awake").wait_for()


def test_clocks_that_are_set_back(opened: Callable[..., Page]) -> None:
    """Summer time ends on 25 October 2026 at 2:00 in London; then a clock that is set back by two days."""
    text = SHORT.replace("2026-11-30", "2026-10-19").replace("2026-12-05", "2026-11-14")
    shown = opened(text, at="2026-10-25T00:30:00")
    item = shown.locator(".day:not([hidden]) li").last
    expect(shown.locator(".day:not([hidden]) h3")).to_contain_text("Sunday 25 October")
    item.locator("button").click()
    shown.clock.run_for(45_000)
    left = item.locator(".left").inner_text()
    assert left.startswith("1:")
    shown.clock.set_system_time("2026-10-25T01:15:00Z")  # a quarter past one for the second time
    shown.clock.run_for(1_000)
    again = item.locator(".left").inner_text()
    assert again.split(":")[0] == left.split(":")[0]  # the minutes count no clock on the wall
    item.locator("button").click()
    shown.clock.set_system_time("2026-10-23T10:00:00Z")
    shown.reload()
    expect(messages(shown)).to_contain_text("went back")
    expect(messages(shown)).to_contain_text("Friday 23 October")


def test_before_the_week_and_after_it(opened: Callable[..., Page]) -> None:
    shown = opened(at="2026-11-29T18:00:00")  # the lesson was early
    expect(shown.locator(".day:not([hidden]) h3")).to_contain_text("Monday 30 November")
    go(shown, "box-1")
    press(shown, "Clean")
    go(shown, "home")
    assert shown.locator("#home-work .rows").inner_text().startswith("2026-11-29: box 1")
    shown.clock.set_system_time("2026-12-09T18:00:00")
    shown.reload()
    expect(messages(shown)).to_contain_text("The week of this page is over")


def test_from_an_address_nothing_but_the_file_is_asked_for(
    opened: Callable[..., Page], serve: Callable[[Path], str], tmp_path: Path
) -> None:
    page(tmp_path, SHORT)
    address = f"{serve(tmp_path)}/page.html"
    asked: list[str] = []
    shown = opened(address=address, viewport={"width": 1280, "height": 900})
    shown.on("request", lambda request: asked.append(request.url))
    shown.reload()
    for view in ("box-1", "stage", "home", "about", "days"):
        go(shown, view)
    shown.keyboard.press("ArrowRight")
    expect(shown.locator(".day:not([hidden]) h3")).to_contain_text("Tuesday 1 December")
    shown.keyboard.press("ArrowLeft")
    expect(shown.locator(".day:not([hidden]) h3")).to_contain_text("Monday 30 November")
    go(shown, "box-1")
    shown.locator("#box-1 .beat .main").focus()
    shown.keyboard.press("Enter")
    shown.wait_for_function(
        "() => document.querySelector('#box-1 .beat .main').textContent.startsWith('Stop')"
    )
    shown.keyboard.press("Enter")
    press(shown, "Hear it")
    shown.wait_for_function("() => document.querySelector('#box-1 .hear button').textContent === 'Stop'")
    press(shown, "Stop")
    assert set(asked) <= {address, address.replace("page.html", "favicon.ico")}
    assert shown.title() == "Ada Lind, week of 30 November to 6 December 2026"
    expect(shown.locator("#box-1 h2")).to_contain_text(HOSTILE[:12])


def test_reading_bar_by_bar_by_key(opened: Callable[..., Page]) -> None:
    shown = opened()
    go(shown, "box-1")
    shown.locator("#box-1 summary").click()
    shown.locator("#box-1 ol.read li").first.focus()
    shown.keyboard.press("ArrowDown")
    assert shown.evaluate("document.activeElement.textContent").startswith("Bar 2")
    press(shown, "Read aloud")  # this machine has no voice
    expect(messages(shown)).to_contain_text("no voice of its own")


def test_scales_have_a_metronome_too(opened: Callable[..., Page]) -> None:
    shown = opened()
    go(shown, "music")
    part = shown.locator(".metronome")
    for _ in range(2):
        press(shown, "Faster")
    expect(part.locator(".tempo")).to_have_text("66")
    press(shown, "Metronome")
    part.get_by_role("button", name="Stop the metronome").wait_for()
    go(shown, "days")
    go(shown, "music")
    part.get_by_role("button", name="Metronome", exact=True).wait_for()  # it goes on nowhere else
    shown.reload()
    expect(part.locator(".tempo")).to_have_text("66")


def test_a_mock_is_offered_twice_a_week(opened: Callable[..., Page]) -> None:
    shown = opened(SHORT.replace("2026-12-05", "2026-12-20"), **TELEPHONE)
    go(shown, "stage")
    for _ in range(2):
        press(shown, "Begin a mock performance")
        while shown.locator("dialog .name").count():
            shown.locator("dialog .main").click()
        press(shown, "Close")
    assert shown.get_by_role("button", name="Begin a mock performance").is_disabled()
    expect(shown.locator("#stage")).to_contain_text("Two in a week")


def test_a_childs_page_counts_nothing(opened: Callable[..., Page]) -> None:
    shown = opened(CHILD, **TELEPHONE)
    circles = shown.locator(".day:not([hidden]) .circle")
    assert circles.count() == 3
    circles.first.click()
    go(shown, "box-1")
    view = shown.locator("#box-1")
    assert view.get_by_role("button", name="Hear it").count() == 1
    for word in ("Clean", "A slip", "Metronome", "Record", "Start"):
        assert view.get_by_role("button", name=word).count() == 0
    go(shown, "home")
    expect(shown.locator("#home-work .rows")).to_contain_text("practised")


@pytest.mark.parametrize(
    ("text", "how", "views"),
    [
        (SHORT, TELEPHONE, ("days", "boxes", "box-1", "stage", "home", "about")),
        (CHILD, {}, ("days", "box-1")),
    ],
    ids=["telephone", "child"],
)
def test_no_barrier_is_found(
    text: str, how: dict[str, Any], views: tuple[str, ...], opened: Callable[..., Page]
) -> None:
    shown = opened(text, bypass_csp=True, **how)
    go(shown, "box-1")
    if text == SHORT:
        press(shown, "Clean")
        press(shown, "Playing view")
        assert_no_barriers(shown)
        press(shown, "Close")
    for view in views:
        go(shown, view)
        assert_no_barriers(shown)
        assert shown.evaluate(_SMALL) == [], view
        assert shown.evaluate(_CUT_OFF) == [], view
        assert shown.evaluate("document.documentElement.scrollWidth <= innerWidth"), view


_CUT_OFF = """() => [...document.querySelectorAll("button, .button, .tempo, h2, .what")]
    .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1 && one.clientWidth)
    .map((one) => one.textContent.trim().slice(0, 30))"""
_SMALL = """() => [...document.querySelectorAll("a, button, summary, input, textarea, .option")]
    .filter((one) => one.checkVisibility() && !one.closest(".option input") && !(one.matches(".option input, .circle")))
    .map((one) => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])
    .filter(([, box]) => box.height < 43.9 || box.width < 43.9)
    .map(([text, box]) => `${text}: ${box.width} x ${box.height}`)"""
"""What is to be pressed and is smaller than 44 px either way; the 28 px of a circle have 8 px around them."""
