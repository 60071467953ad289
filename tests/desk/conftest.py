"""A desk on a temporary studio, and a browser's page on it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.chromium import DESKTOP, listen, window
from tests.desk.gestures import come_in, leave
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


@pytest.fixture(scope="session")
def _window(browser: Browser) -> Iterator[tuple[Page, list[str]]]:
    """The one window, and what goes wrong in it: to open one costs more than most of what is tested in it."""
    with window(browser, viewport=DESKTOP) as shown:
        yield shown, listen(shown)


@pytest.fixture
def desktop(_window: tuple[Page, list[str]]) -> Iterator[Page]:
    """An empty page, as new; what goes wrong on it fails the test."""
    shown, faults = _window
    yield shown
    for other in shown.context.pages:
        if other is not shown:
            other.close()
    shown.unroute_all(behavior="ignoreErrors")
    leave(shown)
    shown.set_viewport_size(DESKTOP)
    shown.context.clear_cookies()
    told, faults[:] = faults.copy(), []
    assert told == []


@pytest.fixture
def page(desktop: Page, desk: RunningDesk) -> Iterator[Page]:
    """A page that has come in by the start address and shows the studio."""
    come_in(desktop, desk)
    yield desktop
    leave(desktop)
