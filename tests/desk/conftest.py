"""A desk on a temporary studio, and a browser's page on it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.desk.gestures import come_in
from tests.desk.running import RunningDesk
from tests.studio.small import studio

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, Playwright

CHROMIUM = "/usr/bin/chromium"


@pytest.fixture(autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test writes into the data and the cache of whoever runs it."""
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR"):
        monkeypatch.setenv(name, str(tmp_path_factory.mktemp(name.lower())))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A studio of two players, Mila and Ada, each with a box; a test may write more into it before `desk`."""
    return studio(tmp_path / "studio", "Mila", "Ada")


@pytest.fixture
def desk(folder: Path) -> Iterator[RunningDesk]:
    """A desk on the studio, logged in: `desk.get("/")`, `desk.post("/…", {…})`."""
    with RunningDesk(folder) as running:
        yield running


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    """Debian's Chromium."""
    chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
    yield chromium
    chromium.close()


@pytest.fixture
def page(browser: Browser, desk: RunningDesk) -> Iterator[Page]:
    """A page that has come in by the start address and shows the studio; a fault of a script fails the test."""
    context = browser.new_context(base_url=desk.address, viewport={"width": 1280, "height": 900})
    shown = context.new_page()
    faults: list[str] = []
    shown.on("pageerror", lambda error: faults.append(str(error)))
    shown.on(
        "console", lambda line: faults.append(line.text) if "Content Security Policy" in line.text else None
    )
    come_in(shown, desk)
    yield shown
    context.close()
    assert faults == []
