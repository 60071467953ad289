"""Tests of paper have a cache of their own."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True, scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A folder for the cache that the first test finds empty."""
    patch = pytest.MonkeyPatch()
    patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
