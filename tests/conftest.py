"""Settings for all tests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.chromium import PATIENCE, start

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Playwright

# Laws are held to the same examples in every run, so that a run which passed passes again.
# To look for new examples: pytest --hypothesis-profile=explore
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """What starts browsers, once for a whole run: two at a time would refuse one another. Marked `browser`."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """Debian's Chromium, once for a whole run. A test that uses it is marked `browser`."""
    chromium = start(playwright)
    yield chromium
    chromium.close()
