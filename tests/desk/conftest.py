"""A desk on a temporary studio, and a browser's page on it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.chromium import DESKTOP, window
from tests.desk.gestures import come_in
from tests.desk.running import RunningDesk
from tests.studio.small import studio

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


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


@pytest.fixture
def page(browser: Browser, desk: RunningDesk) -> Iterator[Page]:
    """A page that has come in by the start address and shows the studio; a fault of a script fails the test."""
    with window(browser, base_url=desk.address, viewport=DESKTOP) as shown:
        come_in(shown, desk)
        yield shown
