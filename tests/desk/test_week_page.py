"""The week page in a browser: the plan beside the form, faults beside their fields, saves, conflicts, undo."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.desk.barriers import assert_no_barriers
from tests.desk.gestures import follow, open_week, save_week, undo
from tests.desk.running import RunningDesk

pytestmark = pytest.mark.browser


def week_of(folder: Path, name: str = "mila") -> Path:
    return folder / f"{name}-11-30.toml"


def test_the_plan_changes_as_one_types_and_only_save_writes(page: Page, folder: Path) -> None:
    file = week_of(folder)
    before = file.read_text(encoding="utf-8")
    open_week(page)
    page.get_by_label("Every day").fill("45")
    expect(page.locator("#days h3").first).to_have_text(re.compile("45 min"))
    expect(page.locator("#state")).to_have_text("Not saved yet")
    assert file.read_text(encoding="utf-8") == before
    save_week(page)
    assert file.read_text(encoding="utf-8") == before.replace("minutes = 20", "minutes = {every = 45}")


def test_a_fault_stands_beside_its_field_and_leads_to_it(page: Page) -> None:
    open_week(page)
    page.locator("#f-box-0-body > summary").click()
    page.locator("#f-box-0-bars").fill("99")
    expect(page.locator("#f-box-0-bars-fault")).to_contain_text("there is no bar 99")
    expect(page.locator("#f-box-0-bars")).to_have_attribute("aria-invalid", "true")
    page.get_by_role("link", name=re.compile("there is no bar 99")).click()
    expect(page.locator("#f-box-0-bars")).to_be_focused()
    page.locator("#f-box-0-bars").fill("2-3")
    expect(page.locator("#f-box-0-bars-fault")).to_be_hidden()
    expect(page.locator("#mend")).to_be_hidden()


def test_boxes_are_added_moved_by_keys_dragged_and_removed(page: Page, folder: Path) -> None:
    open_week(page)
    for bars in ("4-5", "6"):
        page.locator('[data-add="box"] [data-key="bars"]').fill(bars)
        page.locator('[data-add="box"] [data-key="bars"]').press("Enter")
        expect(page.locator('[data-add="box"] [data-key="bars"]')).to_have_value("")
        expect(page.locator("#told")).to_contain_text(f"Added: Box {2 if bars == '4-5' else 3}")
    names = page.locator("#list-box .handle")
    expect(names).to_have_text([re.compile("bars 2–3"), re.compile("bars 4–5"), re.compile("bar 6")])
    page.locator("#f-box-2-body > summary").focus()
    page.keyboard.press("Alt+ArrowUp")
    expect(names).to_have_text([re.compile("bars 2–3"), re.compile("bar 6"), re.compile("bars 4–5")])
    page.get_by_role("button", name=re.compile("Move down: Box 1")).click()
    expect(names.first).to_have_text(re.compile("bar 6"))
    names.nth(2).drag_to(page.locator("#f-box-0"), target_position={"x": 20, "y": 3})
    expect(names).to_have_text([re.compile("bars 4–5"), re.compile("bar 6"), re.compile("bars 2–3")])
    page.get_by_role("button", name=re.compile("Remove: Box 2")).click()
    expect(names).to_have_count(2)
    expect(page.locator("#state")).to_have_text("Not saved yet")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#state")).to_have_text("Saved")
    text = week_of(folder).read_text(encoding="utf-8")
    assert re.findall('bars = "(.*)"', text) == ["4-5", "2-3"]


def test_a_file_changed_elsewhere_is_never_written_over(page: Page, folder: Path) -> None:
    file = week_of(folder)
    open_week(page)
    page.locator("#f-week-focus").fill("Arm first")
    expect(page.locator("#state")).to_have_text("Not saved yet")
    outside = file.read_text(encoding="utf-8").replace("minutes = 20", "minutes = 15  # by hand")
    file.write_text(outside, encoding="utf-8")
    page.keyboard.press("Control+s")
    expect(page.locator("#conflict")).to_be_visible()
    expect(page.locator("#theirs")).to_contain_text("# by hand")
    expect(page.locator("#ours")).to_contain_text("Arm first")
    page.locator("#decide-later").click()
    assert file.read_text(encoding="utf-8") == outside
    page.keyboard.press("Control+s")
    page.locator("#keep-ours").click()
    expect(page.locator("#state")).to_have_text("Saved")
    assert 'focus = "Arm first"' in file.read_text(encoding="utf-8")
    page.locator("h1").click()
    undo(page)
    assert file.read_text(encoding="utf-8") == outside


def test_two_tabs_are_two_editors(page: Page, folder: Path) -> None:
    open_week(page)
    other = page.context.new_page()
    other.goto(page.url)
    page.locator("#f-week-focus").fill("From the first")
    save_week(page)
    other.locator("#f-week-focus").fill("From the second")
    other.keyboard.press("Control+s")
    expect(other.locator("#conflict")).to_be_visible()
    follow(other, other.locator("#take-theirs").click)
    expect(other.locator("#f-week-focus")).to_have_value("From the first")
    assert 'focus = "From the first"' in week_of(folder).read_text(encoding="utf-8")


def test_comments_and_unknown_keys_stay(page: Page, folder: Path) -> None:
    file = week_of(folder)
    text = (
        file.read_text(encoding="utf-8")
        .replace("[player]", "# who\r\n[player]")
        .replace('bars = "2-3"', 'bars = "2-3"   # the turn\ncolour = "red"')
    )
    file.write_bytes(text.encode())
    open_week(page)
    expect(page.locator("#mend")).to_contain_text('There is no key "colour" here.')
    page.locator("#f-box-0-note").fill("Elbow first.\nThen the bow.")
    save_week(page)
    saved = file.read_bytes().decode()
    added = 'note = """Elbow first.\nThen the bow."""\n'
    assert saved.replace(added, "") == text


def test_hostile_texts_are_letters(page: Page, folder: Path) -> None:
    file = week_of(folder)
    evil = "</script><img src=x onerror=alert(1)>"
    text = file.read_text(encoding="utf-8").replace('title = "Slow Air"', f"title = '{evil}'")
    file.write_text(text, encoding="utf-8")
    open_week(page)
    expect(page.locator("#list-piece .handle")).to_have_text(evil)
    assert page.locator("img").count() == 0
    expect(page.locator("#days")).to_contain_text("<img src=x")


def test_a_file_that_is_no_toml_is_mended_as_text(page: Page, folder: Path) -> None:
    file = week_of(folder)
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace('name = "Mila"', 'name = "Mila'), encoding="utf-8")
    page.goto(page.url)
    follow(page, page.get_by_role("link", name=re.compile("mila")).first.click)
    expect(page.locator(".fault")).to_contain_text("line 3")
    page.locator("#text").fill(text)
    follow(page, page.get_by_role("button", name="Save").click)
    expect(page.locator("h1")).to_have_text("Mila")


@pytest.mark.parametrize(
    "width", [*(pytest.param(width, marks=pytest.mark.long) for width in (1280, 640)), 320]
)
def test_the_page_has_no_barriers(page: Page, width: int) -> None:
    """640 and 320 are a screen of 1280 at 200 % and 400 %."""
    open_week(page)
    for fold in ("#f-box-0-body", "#f-piece-0-body", "#fold-player", "#fold-settings"):
        page.locator(f"{fold} > summary").click()
    page.locator("#f-box-0-more > summary").click()
    page.locator("[data-variants] > summary").click()
    expect(page.get_by_label("Long–short", exact=True)).to_be_visible()
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert_no_barriers(page)


def test_another_kind_of_workbook_is_made_and_opened(page: Page, folder: Path, desk: RunningDesk) -> None:
    open_week(page)
    page.locator("#ways > summary").click()
    with page.context.expect_page() as opened:
        page.get_by_role("button", name="Only the boxed bars").click()
    opened.value.wait_for_url(re.compile(r"/file/"))
    expect(page.locator("#made")).to_contain_text("Made: mila-2026-11-30-only-boxes.pdf")
    assert desk.get(opened.value.url.removeprefix(desk.address)).body.startswith(b"%PDF")
