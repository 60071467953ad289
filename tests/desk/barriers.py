"""Looks for barriers on a page with axe-core (Deque's rules for WCAG 2.2; an outside check)."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page


def assert_no_barriers(page: Page) -> None:
    """Fail with axe's own report when the page, as it stands, has any finding."""
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
