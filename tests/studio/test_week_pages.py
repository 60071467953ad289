"""The players' pages of a studio: of those who ask for one, only what changed (slow tier)."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.player_page.owner import page_owner
from excerpts.studio.week_pages import build_pages
from tests.studio.small import studio, week

pytestmark = pytest.mark.slow


def _asks(path: Path) -> None:
    path.write_text(
        path.read_text(encoding="utf-8").replace("[week]", "page = true\n[week]"), encoding="utf-8"
    )


def test_pages_of_those_who_ask(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    folder = studio(tmp_path / "s", "Mila Fenn", "Ada Lind")
    pages = tmp_path / "pages"
    assert main(["studio", str(folder), "--pages", str(pages)]) == 0
    assert "no week asks for a page" in capsys.readouterr().err
    assert not pages.exists()
    _asks(folder / "mila-11-30.toml")
    assert main(["studio", str(folder), "--pages", str(pages)]) == 0
    (page,) = pages.iterdir()
    assert page.name == "mila-fenn-2026-11-30.html"
    assert f"made       {page}" in capsys.readouterr().out
    assert page_owner(page) == "Mila Fenn"
    before = page.stat().st_mtime_ns
    assert main(["studio", str(folder), "--pages", str(pages)]) == 0
    assert f"unchanged  {page}" in capsys.readouterr().out
    assert page.stat().st_mtime_ns == before
    week(folder, "Mila Fenn", bars="4-5")
    _asks(folder / "mila-11-30.toml")
    assert main(["studio", str(folder), "--pages", str(pages)]) == 0
    assert page.stat().st_mtime_ns != before


def test_two_of_one_short_name_and_a_file_of_the_users(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s")
    for name, file in (("Zoe", "one.toml"), ("Zoë", "two.toml")):
        _asks(week(folder, name, file=file))
    pages = tmp_path / "pages"
    made = build_pages(folder, pages, jobs=1)
    assert [one.state for one in made] == ["made", "made"]
    assert len({one.target for one in made}) == 2
    assert {page_owner(one.target) for one in made} == {"Zoe", "Zoë"}
    made[0].target.write_text("hers", encoding="utf-8")
    again = {one.target: one for one in build_pages(folder, pages, jobs=1)}
    assert again[made[0].target].state == "failed"
    assert "did not make" in again[made[0].target].why
    assert made[0].target.read_text(encoding="utf-8") == "hers"


def test_what_is_no_page_has_no_owner(tmp_path: Path) -> None:
    path = tmp_path / "a.html"
    assert page_owner(path) is None
    for text in ("", '<script type="application/json" id="data">{</script>', "<p>data</p>"):
        path.write_text(text, encoding="utf-8")
        assert page_owner(path) is None
