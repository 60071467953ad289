"""The warm-ups page: what the command would make, told in the command's words, and added to a week."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from excerpts.desk.warmup_sheet import WarmupChoice, told_of, with_warmups
from excerpts.errors import InputError, WeekError
from excerpts.week import load_week
from excerpts.weekfile.studio_folder import Settings
from excerpts.words import Words
from tests.desk.barriers import assert_no_barriers
from tests.desk.gestures import go_to
from tests.desk.running import RunningDesk
from tests.studio.small import studio, week

if TYPE_CHECKING:
    from playwright.sync_api import Page


def _choice(**said: Any) -> WarmupChoice:
    return WarmupChoice.of({"key": "D", **said})


def test_several_keys_are_several_warmups() -> None:
    made = _choice(key="D, G minor", octaves="2", instrument="viola").made(Words())
    assert [one.origin.title for one in made] == [
        "D major scale, two octaves", "G melodic minor scale, two octaves"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"key": ""}, "there is no key"),
        ({"key": "H#"}, "H#"),
        ({"octaves": "x"}, '"x" is not a number'),
        ({"octaves": "4", "instrument": "bass"}, "octaves"),
        ({"key": "D" * 101}, "longer than 100"),
        ({"key": ",".join("CDE" * 9)}, "more than 24 keys"),
        ({"variant": "no-such"}, "no-such"),
        ({"fingerings": "9"}, "9"),
    ],
)
def test_what_cannot_be_made_is_told_in_the_words_of_the_command(said: dict[str, str], told: str) -> None:
    with pytest.raises(InputError, match=told):
        _choice(**said).made(Words())


def test_what_goes_beyond_a_level_is_told() -> None:
    choice = _choice(octaves="3", key="G", level="first")
    made = choice.made(Words())
    assert "beyond the violin" in told_of(made, choice.sheet(made, Settings(), Words(), paged=False))[0]


def test_a_warmup_in_a_week_file(tmp_path: Path) -> None:
    path = week(studio(tmp_path / "studio"), "Ada")
    choice = _choice(key="D, Bb", octaves="2", variant="long-short", slur="", level="upper")
    text = path.read_text(encoding="utf-8")
    path.write_text(with_warmups(text, path, choice.items("violin")), encoding="utf-8")
    assert path.read_text(encoding="utf-8").startswith(text.rstrip("\n"))
    first, second = load_week(path).warmups
    assert (first.key, first.octaves, first.variants, first.instrument) == ("D", 2, ("long-short",), None)
    assert second.key == "Bb"
    assert choice.items("cello")[0]["instrument"] == "violin"


def test_a_warmup_that_would_be_a_fault_is_refused(tmp_path: Path) -> None:
    path = week(studio(tmp_path / "studio"), "Ada")
    with pytest.raises(WeekError, match="would not be right there"):
        with_warmups(path.read_text(encoding="utf-8"), path, [{"key": "D", "octaves": "9"}])


@pytest.mark.slow
def test_the_routes(desk: RunningDesk, folder: Path) -> None:
    assert "melodic" not in desk.get("/warmups").text
    drawn = desk.post("/warmups/draw", {"key": "D", "pattern": "arpeggio"}).said
    ((head, _, svg),) = drawn["pictures"]
    assert head.startswith("D major arpeggio")
    assert svg.startswith("<?xml") or svg.startswith("<svg")
    refused = desk.post("/warmups/draw", {"key": "D", "octaves": "4", "instrument": "bass"})
    assert refused.status == 422
    assert "octaves" in refused.said["error"]
    assert desk.post("/warmups/add", {"key": "D", "player": desk.key_of("Ada")}).said["player"] == "Ada"
    assert [item.key for item in load_week(folder / "ada-11-30.toml").warmups] == ["D"]
    assert desk.post("/undo/last", {}).said["undone"] == "Ada: a warm-up"
    assert not load_week(folder / "ada-11-30.toml").warmups
    assert desk.post("/warmups/add", {"key": "D", "player": "nobody"}).status == 404


@pytest.mark.slow
def test_the_sheet_as_a_pdf(desk: RunningDesk) -> None:
    answer = desk.get("/warmups/sheet?key=D%2CG&octaves=2")
    assert answer.body.startswith(b"%PDF")
    assert answer.headers["content-type"] == "application/pdf"


@pytest.mark.browser
def test_the_page(page: Page, folder: Path, desk: RunningDesk) -> None:
    go_to(page, desk, "/warmups")
    image = page.locator("#music img")
    image.wait_for()
    assert image.get_attribute("alt") == "D major scale, two octaves"
    page.keyboard.press("k")
    page.keyboard.type("<b>D</b>")
    page.locator("#said .fault").filter(has_text="<b>D</b>").wait_for()
    assert page.locator("#print").is_disabled()
    page.locator("#key").fill("G minor, Bb")
    page.locator("[name=pattern]").select_option("arpeggio")
    page.get_by_role("img", name="B-flat major arpeggio").wait_for()
    assert (
        page.locator("#music img").first.evaluate(
            "async (one) => { await one.decode(); return one.naturalWidth; }"
        )
        > 100
    )
    page.keyboard.press("Escape")
    page.keyboard.press("a")
    page.locator("#player").select_option(label="Ada")
    page.locator("#add").click()
    page.get_by_role("status").filter(has_text="Added to the week of Ada: G minor arpeggio").wait_for()
    assert [item.key for item in load_week(folder / "ada-11-30.toml").warmups] == ["G minor", "Bb"]
    page.keyboard.press("w")
    assert "key=G+minor%2C+Bb" in (page.get_attribute("#viewer", "src") or "")
    page.set_viewport_size({"width": 640, "height": 450})  # 200 % of 1280 by 900
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    page.evaluate("document.getElementById('viewer').remove()")  # the viewer is the browser's own
    assert_no_barriers(page)
