"""The week page in a browser: sets that several players share, scores that are dropped in, variants, sounds."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.desk.gestures import open_week, save_week
from tests.desk.test_week_form import OWN, SET
from tests.music import bars_of

pytestmark = pytest.mark.browser


@pytest.fixture
def folder(folder: Path) -> Path:
    """Two players who share a set of boxes."""
    (folder / "sets").mkdir()
    (folder / "sets" / "section.toml").write_text(SET, encoding="utf-8")
    for name in ("Ida", "Bo"):
        (folder / f"{name.lower()}.toml").write_text(OWN.format(name=name), encoding="utf-8")
    return folder


def test_a_change_to_a_shared_set_asks_for_whom(page: Page, folder: Path) -> None:
    section, own = folder / "sets" / "section.toml", folder / "ida.toml"
    open_week(page, "Ida")
    page.locator("#f-box-1-body > summary").click()
    expect(page.locator("#f-box-1")).to_contain_text("which Ida, Bo share")
    expect(page.locator("#f-box-1-note")).to_be_disabled()
    page.get_by_role("button", name="Change for all who share it").first.click()
    page.locator("#f-box-1-note").fill("Arm first")
    save_week(page)
    assert section.read_text(encoding="utf-8") == SET.replace(
        'why = "shift"\n', 'why = "shift"\nnote = "Arm first"\n'
    )
    assert own.read_text(encoding="utf-8") == OWN.format(name="Ida")
    page.reload()
    page.locator("#f-box-1-body > summary").click()
    page.locator("#f-box-1").get_by_role("button", name="Change for Ida only").click()
    page.locator("#f-box-1-note").fill("Ida: breathe")
    save_week(page)
    assert tomllib.loads(own.read_text(encoding="utf-8"))["box"][1]["note"] == "Ida: breathe"
    assert 'note = "Arm first"' in section.read_text(encoding="utf-8")


def test_a_shared_box_is_left_out_for_one(page: Page, folder: Path) -> None:
    open_week(page, "Ida")
    page.locator("#f-box-1-body > summary").click()
    page.get_by_role("button", name="Take it out for Ida only").click()
    expect(page.locator("#list-box > li")).to_have_count(1)
    save_week(page)
    assert (folder / "sets" / "section.toml").read_text(encoding="utf-8") == SET
    page.goto(page.url.partition("/week")[0])
    open_week(page, "Bo")
    expect(page.locator("#list-box > li")).to_have_count(2)


def test_what_is_no_score_is_refused_and_a_score_becomes_a_piece(
    page: Page, folder: Path, tmp_path: Path
) -> None:
    open_week(page, "Mila")
    bad = tmp_path / "letter.mxl"
    bad.write_bytes(b"Dear Ada")
    page.locator("#score-file").set_input_files(bad)
    expect(page.locator("#told")).to_contain_text("letter.mxl")
    expect(page.locator("#list-piece > li")).to_have_count(1)
    good = tmp_path / "Duet.musicxml"
    good.write_bytes(bars_of(*["C#5:1 D5:1 E5:1 F#5:1"] * 4))
    page.locator("#score-file").set_input_files(good)
    expect(page.locator("#list-piece > li")).to_have_count(2)
    assert (folder / "scores" / "Duet.musicxml").read_bytes() == good.read_bytes()
    expect(page.locator('[data-add="box"] [data-key="piece"]')).to_have_value("duet")
    save_week(page)
    raw = tomllib.loads((folder / "mila-11-30.toml").read_text(encoding="utf-8"))
    assert raw["piece"][1]["score"] == "Duet.musicxml"


def test_variants_are_names_that_fit(page: Page, folder: Path) -> None:
    open_week(page, "Mila")
    page.locator("#f-box-0-body > summary").click()
    page.locator("#f-box-0-more > summary").click()
    page.locator("[data-variants] > summary").click()
    page.get_by_label("Long–short", exact=True).check()
    save_week(page)
    raw = tomllib.loads((folder / "mila-11-30.toml").read_text(encoding="utf-8"))
    assert raw["box"][0]["variants"] == ["long-short"]


def test_a_box_of_a_piece_on_paper_says_where_it_is_in_words(page: Page, folder: Path) -> None:
    open_week(page, "Mila")
    page.locator('form[data-add="piece"] [data-key="title"]').fill("Harbour Minuet")
    page.locator('form[data-add="piece"] [data-key="title"]').press("Enter")
    expect(page.locator("#list-piece > li")).to_have_count(2)
    page.locator("#new-bars").fill("p. 14, second line")
    page.locator("#new-bars").press("Enter")
    expect(page.locator("#list-box .handle").last).to_have_text("Box 2: Harbour Minuet, p. 14, second line")
    expect(page.locator("#mend")).to_be_hidden()


def test_sound_files_are_made_with_progress(page: Page, folder: Path) -> None:
    open_week(page, "Mila")
    page.locator("#ways > summary").click()
    page.get_by_role("button", name="Sound files").click()
    expect(page.locator("#made")).to_contain_text(re.compile("sound files in the folder"))
    assert list(folder.glob("mila-2026-11-30-sound/*.mp3"))
