"""The frame in a browser."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from excerpts.desk.start_file import start_file
from tests.chromium import window
from tests.desk.barriers import assert_no_barriers
from tests.desk.gestures import go_to
from tests.desk.running import RunningDesk

pytestmark = pytest.mark.browser


def test_the_start_address_leads_to_clean_addresses(page: Page) -> None:
    expect(page.locator("h1")).to_have_text("Studio")
    assert [cookie["sameSite"] for cookie in page.context.cookies()] == ["Strict"]
    assert [cookie["httpOnly"] for cookie in page.context.cookies()] == [True]
    assert page.evaluate("document.cookie") == ""
    page.keyboard.press("?")
    expect(page.locator("#keys")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("#keys")).to_be_hidden()
    page.keyboard.press("u")
    expect(page.locator("#told")).to_have_text("There is nothing to undo.")
    page.keyboard.press("g")
    page.keyboard.press("u")
    expect(page.locator("h1")).to_have_text("What was saved")


def test_a_page_that_is_not_there_has_no_barriers(page: Page, desk: RunningDesk) -> None:
    go_to(page, desk, "/nowhere")
    assert_no_barriers(page)


def test_the_start_file_leads_in(browser: Browser, desk: RunningDesk) -> None:
    """From a file the browser comes as from another site: the cookie is strict, and has to go along all the same."""
    with window(browser) as shown, start_file(desk.desk.start_address, desk.desk.port) as path:
        shown.goto(path.as_uri())
        shown.wait_for_url(f"{desk.address}/")
        expect(shown.locator("h1")).to_have_text("Studio")
