"""What a teacher does on any page of the desk, each with its end: the page has loaded, or shows that it has saved.

A page hears clicks and keys from its load event on: its module has run by then. Every gesture that leads to another
page, or loads the same one anew, waits for that event of the new page, never for something that the old one shows too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from playwright.sync_api import expect

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

    from tests.desk.running import RunningDesk


def come_in(page: Page, desk: RunningDesk) -> None:
    """Come in by the start address, whose page leads on to the studio."""
    page.goto(desk.desk.start_address)
    page.wait_for_url(f"{desk.address}/")


def leave(page: Page) -> None:
    """Leave a desk, before it ends, and forget all that its pages keep."""
    if page.url.startswith("http"):
        page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
    page.goto("about:blank")


def go_to(page: Page, desk: RunningDesk, address: str) -> None:
    """Go to a page of the desk by its address."""
    page.goto(f"{desk.address}{address}")


def follow(page: Page, act: Callable[[], Any]) -> None:
    """Do what leads to another page, or loads this one anew, and wait until that has loaded."""
    with page.expect_navigation():
        act()


def undo(page: Page, by: Locator | None = None) -> None:
    """Take back the last step, by the key or a button, and wait for the page as it is then."""
    follow(page, lambda: by.click() if by else page.keyboard.press("u"))
    expect(page.locator("#told")).to_contain_text("Undone: ")


def open_week(page: Page, name: str = "Mila") -> None:
    """Open the week of a player from the studio."""
    follow(page, page.get_by_role("link", name=name, exact=True).first.click)
    expect(page.locator("h1")).to_have_text(name)


def save_week(page: Page) -> None:
    """Save the form of a week that was changed."""
    expect(page.locator("#state")).to_have_text("Not saved yet")
    page.keyboard.press("Control+s")
    expect(page.locator("#state")).to_have_text("Saved")


def open_drawn(page: Page, desk: RunningDesk, name: str = "Mila Berg") -> None:
    """Open the part of a player's piece "tune"."""
    go_to(page, desk, f"/part/{desk.key_of(name)}/tune")
    all_drawn(page)


def all_drawn(page: Page) -> None:
    """Wait until all lines of a part are there."""
    page.wait_for_selector("#music[data-all]")


_STOPPED = """() => {
  const later = new Map();
  let number = 1e9;
  window.setTimeout = (act) => { number += 1; later.set(number, act); return number; };
  window.clearTimeout = (which) => { later.delete(which); };
  window.afterAWhile = () => { const due = [...later.values()]; later.clear(); for (const act of due) act(); };
}"""


def stop_clock(page: Page) -> None:
    """Let what this page does after a while wait until `after_a_while`; the next page has a clock again."""
    page.evaluate(_STOPPED)


def after_a_while(page: Page) -> None:
    """Do what waits."""
    page.evaluate("window.afterAWhile()")
