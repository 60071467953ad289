"""Which week files of a folder are built: the latest of each player, and what cannot be told. Tier: default."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from excerpts.errors import WeekError
from excerpts.studio.find import latest_files
from excerpts.system.cache import Store
from tests.studio.small import studio, week

EARLIER, LATER = date(2026, 11, 23), date(2026, 11, 30)


def _found(folder: Path, cache: Path | None = None) -> list[str]:
    return [one.path.name for one in latest_files(folder, Store(cache))]


def test_the_latest_week_of_each_player_counts(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s")
    week(folder, "Mila Fenn", LATER)
    week(folder, "Mila Fenn", EARLIER)
    (folder / "below").mkdir()
    week(folder / "below", "MILA  fenn", date(2026, 12, 7))
    week(folder, "Tom Reed", EARLIER)
    assert _found(folder) == ["mila-12-07.toml", "tom-11-23.toml"]


def test_what_is_no_week_is_passed_over_and_what_cannot_be_told_is_not(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Mila")
    (folder / "set.toml").write_text('[[box]]\nid = "a"\n', encoding="utf-8")
    (folder / ".hidden").mkdir()
    week(folder / ".hidden", "Nobody")
    (folder / "torn.toml").write_text("format = 1\n[player\n", encoding="utf-8")
    (folder / "nameless.toml").write_text(
        "format = 1\n[player]\n[week]\nstart = 2026-11-30\n", encoding="utf-8"
    )
    (folder / "binary.toml").write_bytes(b"\xff\xfe\x00")
    assert _found(folder) == ["mila-11-30.toml", "binary.toml", "nameless.toml", "torn.toml"]


def test_two_files_of_one_week_are_a_fault(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Mila")
    week(folder, "Mila", file="copy.toml")
    (only,) = latest_files(folder, Store(None))
    assert "copy.toml" in only.fault
    assert "mila-11-30.toml" in only.fault
    week(folder, "Mila", date(2026, 12, 7))  # of older weeks it does not matter
    (only,) = latest_files(folder, Store(None))
    assert not only.fault


def test_the_cache_tells_the_same(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Mila", "Tom")
    (folder / "torn.toml").write_text("[player", encoding="utf-8")
    (folder / "set.toml").write_text("[[box]]\n", encoding="utf-8")
    cache = tmp_path / "cache"
    first = latest_files(folder, Store(cache))
    second = Store(cache)
    assert latest_files(folder, second) == first
    assert second.stored == 0
    week(folder, "Mila", bars="3")
    assert latest_files(folder, second) == first
    assert second.stored == 1


def test_no_folder_and_no_week_are_told(tmp_path: Path) -> None:
    with pytest.raises(WeekError, match="no such folder"):
        latest_files(tmp_path / "none", Store(None))
    with pytest.raises(WeekError, match="no week file"):
        latest_files(studio(tmp_path / "s"), Store(None))
