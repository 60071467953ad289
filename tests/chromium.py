"""Debian's Chromium for tests, and windows in it: a fault of a script fails a test, a slow machine does not."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright, ViewportSize

CHROMIUM = "/usr/bin/chromium"
PATIENCE = 120_000
"""Milliseconds that a test waits for what has to come: it costs nothing where things come at once."""
REBOUND = "evil.test"
"""A name that this browser takes for this computer."""
DESKTOP: ViewportSize = {"width": 1280, "height": 900}

_MICROPHONE = ("--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")


def start(playwright: Playwright) -> Browser:
    """Start the browser: with a microphone that is none, and pages that may sound without a click."""
    return playwright.chromium.launch(
        executable_path=CHROMIUM,
        args=[
            "--no-sandbox",
            "--autoplay-policy=no-user-gesture-required",
            f"--host-resolver-rules=MAP {REBOUND} 127.0.0.1",
            *_MICROPHONE,
        ],
    )


def listen(shown: Page, *, silent: bool = False) -> list[str]:
    """What goes wrong on a page from now on.

    Args:
        shown: The page.
        silent: Every error that the browser tells counts, not only faults of scripts and breaches of the Content
            Security Policy.
    """
    faults: list[str] = []

    def hear(line: ConsoleMessage) -> None:
        if (silent and line.type == "error") or "Content Security Policy" in line.text:
            faults.append(line.text)

    shown.on("pageerror", lambda error: faults.append(str(error)))
    shown.on("console", hear)
    return faults


@contextmanager
def window(browser: Browser, *, silent: bool = False, **how: Any) -> Iterator[Page]:
    """A page in a window of its own, with storage and cookies of its own; what goes wrong on it fails the test.

    Args:
        browser: The browser.
        silent: As `listen` takes it.
        how: What `Browser.new_context` takes.
    """
    context = browser.new_context(**how)
    context.set_default_timeout(PATIENCE)
    shown = context.new_page()
    faults = listen(shown, silent=silent)
    yield shown
    context.close()
    assert faults == []
