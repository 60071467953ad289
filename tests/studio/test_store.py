"""The cache gives back what was put in, or nothing: never something else. Tier: default."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from excerpts.system.cache import Store, cache_folder

KEY = "ab" + "0" * 62


def _file(folder: Path) -> Path:
    return next(path for path in folder.rglob("*") if path.is_file())


def test_what_was_put_in_comes_out(tmp_path: Path) -> None:
    store = Store(tmp_path / "c")
    assert store.get("kind", KEY) is None
    store.put("kind", KEY, b"music")
    assert Store(tmp_path / "c").get("kind", KEY) == b"music"
    assert store.get("other", KEY) is None


@pytest.mark.parametrize("harm", [b"", b"short", b"\0" * 40, "flip", "cut"])
def test_a_harmed_entry_is_not_used_and_is_made_anew(tmp_path: Path, harm: bytes | str) -> None:
    store = Store(tmp_path / "c")
    store.put("kind", KEY, b"music" * 100)
    path = _file(tmp_path / "c")
    whole = path.read_bytes()
    bad = whole[:-1] + b"X" if harm == "flip" else whole[:-7] if harm == "cut" else harm
    assert isinstance(bad, bytes)
    path.write_bytes(bad)
    assert store.get("kind", KEY) is None
    store.put("kind", KEY, b"anew")
    assert store.get("kind", KEY) == b"anew"


def test_without_a_folder_nothing_is_kept() -> None:
    store = Store(None)
    store.put("kind", KEY, b"music")
    assert store.get("kind", KEY) is None
    assert not store.trouble


def test_a_folder_that_cannot_be_made_is_told_once(tmp_path: Path) -> None:
    (tmp_path / "c").write_text("a file, no folder", encoding="utf-8")
    store = Store(tmp_path / "c")
    store.put("kind", KEY, b"music")
    assert "cannot be written" in store.trouble
    assert store.get("kind", KEY) is None


def test_deleting_it_in_between_does_no_harm(tmp_path: Path) -> None:
    store = Store(tmp_path / "c")
    store.put("kind", KEY, b"music")
    for path in sorted((tmp_path / "c").rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    (tmp_path / "c").rmdir()
    assert store.get("kind", KEY) is None
    store.put("kind", KEY, b"music")
    assert store.get("kind", KEY) == b"music"
    assert not store.trouble


def test_the_oldest_go_first_and_half_written_ones_always(tmp_path: Path) -> None:
    store = Store(tmp_path / "c")
    keys = [f"{place:02}" + "0" * 62 for place in range(10)]
    for place, key in enumerate(keys):
        store.put("kind", key, bytes(1000))
        os.utime(tmp_path / "c" / "kind" / key[:2] / key, (place, place))
    (tmp_path / "c" / "kind" / "00" / ".left.1.part").write_bytes(b"half")
    store.prune(1_000_000)
    assert [bool(store.get("kind", key)) for key in keys] == [True] * 10
    assert not list((tmp_path / "c").rglob("*.part"))
    store.prune(8000)
    there = [store.get("kind", key) is not None for key in keys]
    assert there == sorted(there)
    assert sum(there) == 5  # down to three quarters of it


def test_its_place_follows_the_system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """XDG Base Directory Specification 0.8: `$XDG_CACHE_HOME`, ignored when it is not an absolute path."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert cache_folder() == tmp_path / "excerpts"
    monkeypatch.setenv("XDG_CACHE_HOME", "relative")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert cache_folder() == tmp_path / ".cache" / "excerpts"
