"""The lesson in a real browser: from what came home to the printed next week, by mouse and by keyboard alone.

What is counted: every click, every key that does something by itself, every field that was filled. Tab and arrow keys
from field to field are counted apart.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from excerpts.desk import lesson_page
from excerpts.desk.makings import Making
from excerpts.desk.studio_state import StudioState
from excerpts.desk.week_print import made_of
from excerpts.log import LogRow, read_log
from excerpts.week import Week, load_week
from tests.desk.barriers import assert_no_barriers
from tests.desk.dropping import drop
from tests.desk.gestures import after_a_while, follow, go_to, stop_clock, undo
from tests.desk.running import RunningDesk
from tests.log.weeks import row
from tests.studio.small import week as small_week

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page, Route

pytestmark = pytest.mark.browser

_LOGGER = logging.getLogger("counted")

WEEK = """# Ada's week
format = 1
[player]
name = "Ada Lind"
instrument = "violin"
level = "middle"
age = 13
lesson = "mon 15:00"
[week]
start = 2026-11-30
minutes = {mon = 30, wed = 30, fri = 30}
focus = "Loose thumb"
notes = ["Sing it"]
[[piece]]
id = "air"
title = "Slow Air"
score = "air.musicxml"
[[box]]   # the hard one
id = "turn"
piece = "air"
bars = "2-3"
target = "crotchet = 80"
start = 40
clean = 5
variants = []
[[box]]
id = "end"
piece = "air"
bars = "6-8"
target = "crotchet = 72"
start = 40
clean = 5
variants = []
[[box]]
id = "line"
piece = "air"
bars = "4-5"
goal = "one long line"
clean = 3
variants = []
"""
EMPTY = b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj 2 0 obj<</Type/Pages/Kids[]/Count 0>>endobj\n%%EOF\n"
COUNT = """
window.actions = {clicks: 0, keys: 0, filled: 0, moves: 0};
const moving = ['Tab', 'ArrowUp', 'ArrowDown', 'ArrowLeft', 'ArrowRight', 'Escape'];
const typed = (where) => where.matches('input:not([type=radio], [type=checkbox]), textarea, select');
const count = (name, counts) => addEventListener(name, (event) => {
  const what = event.isTrusted && counts(event);
  if (what) window.actions[what] += 1;
}, true);
count('pointerdown', () => 'clicks');
count('change', (event) => typed(event.target) && 'filled');
count('keydown', (event) => {
  if (event.key === 'Shift' || event.key === 'Control') return '';
  if (moving.includes(event.key)) return 'moves';
  return (!typed(event.target) || event.ctrlKey) && 'keys';
});
"""


def looked(page: Page, *acts: Callable[[], object]) -> None:
    """Do something, and wait until the next week was shown anew."""
    with page.expect_response("**/look?*"):
        for act in acts:
            act()
    page.locator("#next:not([aria-busy])").wait_for(state="attached")


class Story:
    """A lesson in the browser, its actions counted."""

    def __init__(self, page: Page, desk: RunningDesk) -> None:
        self.page = page
        self.desk = desk
        self.before = {"clicks": 0, "keys": 0, "filled": 0, "moves": 0}

    def open(self, player: str, query: str = "") -> None:
        go_to(self.page, self.desk, f"/lesson/{self.desk.key_of(player)}{query}")
        self.page.evaluate(COUNT)

    def counted(self, name: str) -> tuple[int, int]:
        """Actions, and moves from field to field."""
        told = self.page.evaluate("window.actions")
        actions = told["clicks"] + told["keys"] + told["filled"]
        _LOGGER.info("%s: %d actions, %d moves: %s", name, actions, told["moves"], told)
        return actions, told["moves"]

    def told(self, text: str) -> None:
        self.page.get_by_role("status").filter(has_text=text).wait_for()

    def looked(self, *acts: Callable[[], object]) -> None:
        """Do something, and wait until the next week was shown anew."""
        looked(self.page, *acts)

    def type(self, field: Locator, text: str) -> None:
        """Fill a field, leave it, and wait until the next week was shown anew."""
        self.looked(lambda: field.fill(text), field.blur)

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def tab_to(self, name: str) -> None:
        """Tab until a field whose class or id is that has the focus."""
        for _ in range(120):
            here = self.page.evaluate("document.activeElement.className + ' ' + document.activeElement.id")
            if name in here.split():
                return
            self.press("Tab")
        raise AssertionError(f"no way to {name} by Tab")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    from tests.studio.small import studio

    root = studio(tmp_path / "studio")
    (root / "ada-11-30.toml").write_text(WEEK, encoding="utf-8")
    return root


@pytest.fixture
def _no_building(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the workbook itself is not what is tested, an empty one is there at once."""

    def made(state: StudioState, path: Path, _making: Making) -> dict[str, object]:
        pdf = path.with_suffix(".pdf")
        pdf.write_bytes(EMPTY)
        return made_of(state, pdf, 0, [])

    monkeypatch.setattr(lesson_page, "print_week", made)


quick = pytest.mark.usefixtures("_no_building")


@pytest.fixture
def story(page: Page, desk: RunningDesk) -> Story:
    made = Story(page, desk)
    made.open("Ada Lind")
    return made


def _log(folder: Path, player: str = "Ada Lind") -> tuple[LogRow, ...]:
    name = f"{player.lower().replace(' ', '-')}-log.csv"
    return read_log(folder / name, player).rows


def _next(folder: Path) -> Week:
    return load_week(folder / "ada-lind-2026-12-07.toml")


def _printed(story: Story, folder: Path) -> None:
    story.told("Made: ")
    assert (folder / "ada-lind-2026-12-07.pdf").read_bytes().startswith(b"%PDF")
    address = story.page.get_attribute("#viewer", "src")
    assert address is not None
    assert story.desk.get(address).body.startswith(b"%PDF")


@quick
def test_paper_by_keyboard_alone(story: Story, folder: Path) -> None:
    page = story.page
    story.press("p")  # the one line of the first box has the focus, and Enter leads to the next box
    for text in ("mon 40 5, wed 48 5, fri 58 2", "mon 40 5", "wed 3"):
        story.looked(partial(page.keyboard.type, text), partial(story.press, "Enter"))
    assert page.locator("[data-box=turn] .cell").first.input_value() == "5"
    others = page.locator("[data-box=turn] .other").evaluate_all("all => all.map((one) => one.value)")
    assert "58 2" in others
    story.press("1", "1", "3", "w")
    _printed(story, folder)
    actions, moves = story.counted("paper with three boxes, by keyboard alone")
    assert actions <= 12
    assert moves == 0
    rows = _log(folder)
    assert {(one.kind, one.box) for one in rows} == {
        ("box", "turn"), ("box", "end"), ("box", "line"), ("heard", "turn"), ("heard", "line")
    }  # fmt: skip
    assert [box.id for box in _next(folder).retired] == ["line"]


def test_cells_by_tab_and_arrows(story: Story, folder: Path) -> None:
    """What stands in each cell of the paper, typed cell by cell."""
    page = story.page
    story.press("p", "Tab")
    focused = "document.activeElement.dataset.cell"
    assert page.evaluate(focused) == "box turn 0 c0"
    page.keyboard.type("5")
    story.press("ArrowRight")
    page.keyboard.type("3")
    story.press("ArrowDown")
    assert page.evaluate(focused) == "box turn 1 c1"
    page.keyboard.type("2")
    story.press("Tab", "ArrowUp", "ArrowLeft", "ArrowLeft")
    assert page.evaluate(focused) == "box turn 0 c0"
    story.press("Escape", "d")
    story.told("Written down: 3 rows.")
    assert [(one.date, one.clean) for one in _log(folder)] == [
        (date(2026, 11, 30), 5), (date(2026, 11, 30), 3), (date(2026, 12, 2), 2)
    ]  # fmt: skip
    assert not (folder / "ada-lind-2026-12-07.toml").exists()


@quick
@pytest.mark.parametrize("way", ["nothing", "paper", "file"])
def test_each_way_home_with_a_new_box_and_a_note(story: Story, folder: Path, way: str) -> None:
    """Counted by mouse; with nothing new it is four actions less."""
    page = story.page
    page.get_by_role("button", name={"nothing": "Nothing", "paper": "Paper", "file": "A file"}[way]).click()
    if way == "paper":
        for box, text in (("turn", "mon 40 5, wed 48 5"), ("end", "fri 40 3")):
            story.type(page.locator(f"[data-box={box}] .line"), text)
    elif way == "file":
        rows = "2026-11-30,2026-11-30,box,turn,60,crotchet,5,,\n"
        head = "week,date,kind,box,tempo,unit,clean,bars,note\n,,player,,,,,,Ada Lind\n"
        drop(page, "#drop", "ada.csv", (head + rows).encode())
        story.looked(lambda: page.get_by_role("button", name="Take these rows").click())
    story.looked(lambda: page.locator("[data-box=line]").get_by_label("clean", exact=True).click())
    page.locator(".new .bars").fill("1-2")
    page.locator(".new .why").fill("shift, thumb late")
    page.locator(".new .goal").fill("crotchet = 66")
    story.type(page.locator("#notes"), "Long bows")
    page.get_by_text("New box: Slow Air, bars 1–2.").wait_for()
    page.get_by_role("button", name="Write the next week and print it").click()
    _printed(story, folder)
    actions = story.counted(f"{way}, a new box and a note, by mouse")[0] + (way == "file")  # the drag
    assert actions <= 20
    assert actions - 4 <= 12
    new = _next(folder)
    fresh = new.box("air-1-2")
    assert (fresh.bars, fresh.why, fresh.note) == ("1-2", ("shift",), "thumb late")
    assert new.week.notes == ("Long bows",)
    assert "# the hard one" in (folder / "ada-lind-2026-12-07.toml").read_text(encoding="utf-8")


@quick
def test_a_file_is_taken_twice_without_doubling(story: Story, folder: Path, tmp_path: Path) -> None:
    page, sent = story.page, tmp_path / "sent.csv"
    sent.write_text(
        "week,date,kind,box,tempo,unit,clean,bars,note\n,,player,,,,,,Ada Lind\n"
        "2026-11-30,2026-11-30,box,turn,60,crotchet,5,,\n"
        "2026-11-30,2026-12-02,box,turn,200,crotchet,1,,<b>fast</b>\n"
        "2026-11-30,2026-12-02,box,line,,,3,,'=1+1\n",
        encoding="utf-8",
    )
    story.press("f")
    page.set_input_files("#sent", sent)
    page.get_by_text("crotchet = 200? The goal is crotchet = 80.").wait_for()
    assert page.get_by_role("cell", name="<b>fast</b>").is_visible()
    story.looked(lambda: story.press("Enter"))  # the button to take them has the focus
    story.told("Written down: 2 rows.")
    assert "=1+1" in page.locator("[data-box=line] .noticed").evaluate_all(
        "all => all.map((one) => one.value)"
    )
    page.set_input_files("#sent", sent)
    page.get_by_text("2 rows are in the log already.").wait_for()
    page.locator(".agreed").check()
    story.looked(lambda: page.locator("#take").click())
    page.set_input_files("#sent", sent)
    page.get_by_text("Nothing in it is new.").wait_for()
    assert len(_log(folder)) == 3
    story.press("1", "w")
    _printed(story, folder)
    assert len(_log(folder)) == 4


def test_a_dropped_file_that_is_no_log_is_told(story: Story) -> None:
    story.press("f")
    drop(story.page, "#drop", "x.csv", b"no log")
    story.told("this is not the log of a player")


def test_no_lesson_and_undo(story: Story, folder: Path) -> None:
    before = (folder / "ada-11-30.toml").read_bytes()
    story.press("i")
    story.told("this week goes on until the lesson of")
    assert load_week(folder / "ada-11-30.toml").week.last == date(2026, 12, 13)
    story.press("i")  # once is enough
    assert load_week(folder / "ada-11-30.toml").week.last == date(2026, 12, 13)
    assert story.counted("no lesson")[0] == 2
    undo(story.page)
    story.told("Undone: Ada Lind: no lesson")
    assert (folder / "ada-11-30.toml").read_bytes() == before


@quick
def test_the_same_week_again(story: Story, folder: Path) -> None:
    story.press("a")
    _printed(story, folder)
    assert story.counted("the same week again")[0] == 1
    new = _next(folder)
    assert new.week.notes == ("Sing it",)
    assert [box.id for box in new.boxes] == ["turn", "end", "line"]


def test_rows_are_taken_back_in_order(story: Story, folder: Path) -> None:
    page = story.page
    story.press("n")
    story.looked(lambda: story.press("1"))
    story.press("d")
    story.told("Written down: one row.")
    story.looked(lambda: story.press("1"))
    story.press("d")  # the row that said clean is taken back, another is added
    story.told("Written down: 2 rows.")
    assert _log(folder) == (row("turn", kind="heard", clean=0),)
    undo(page)
    assert _log(folder) == (row("turn", kind="heard"),)
    undo(page)
    assert _log(folder) == ()


@quick
def test_what_is_wrong_or_doubtful_stands_beside_its_field(story: Story, folder: Path) -> None:
    page = story.page
    story.press("p")
    turn = page.locator("[data-box=turn]")
    turn.locator(".other").first.fill("200")
    story.type(turn.locator(".cell").first, "much")
    page.get_by_text("crotchet = 200? The goal is crotchet = 80.").wait_for()
    assert turn.locator(".cell").first.get_attribute("aria-invalid") == "true"
    story.press("w")
    story.told("Something cannot be read")
    assert not _log(folder)
    assert (
        page.evaluate("document.activeElement.dataset.cell") == "box turn 0 c0"
    )  # the keyboard is led there
    story.type(turn.locator(".cell").first, "4")
    page.get_by_label("That is right").check()
    page.locator(".new .goal").fill("crotchet = 9999")
    story.type(page.locator(".new .bars"), "2-300")
    page.locator("#until").evaluate("field => { field.value = '2026-12-01'; }")  # folded away
    story.press("Escape", "w")
    story.told("Something cannot be read")
    bars = page.locator(".new .bars")
    expect(bars).to_be_focused()
    for field, what in (
        (bars, "300"),
        (page.locator(".new .goal"), "9999"),
        (page.locator("#until"), "before"),
    ):
        beside = page.locator(f"[id='{field.get_attribute('aria-describedby')}']")
        expect(beside).to_contain_text(what)
        assert field.get_attribute("aria-invalid") == "true"
    assert not _log(folder)
    bars.fill("2-3")
    story.type(page.locator(".new .goal"), "crotchet = 60")
    story.press("Escape", "w")
    expect(page.locator("#until")).to_be_focused()
    page.locator("#until").fill("")
    story.press("Escape", "w")
    _printed(story, folder)
    assert [str(one.tempo.number) for one in _log(folder) if one.tempo] == ["40", "200"]


@quick
def test_two_tabs_and_a_file_that_was_edited(story: Story, folder: Path) -> None:
    page = story.page
    other = page.context.new_page()
    other.goto(page.url)
    for one in (page, other):
        one.bring_to_front()
        one.keyboard.press("n")
    looked(other, lambda: other.keyboard.press("1"))
    other.keyboard.press("d")
    other.get_by_role("status").filter(has_text="Written down").wait_for()
    page.bring_to_front()
    story.looked(lambda: story.press("2"))
    story.press("w")
    dialog = page.get_by_role("dialog")
    dialog.get_by_text("ada-lind-log.csv was changed elsewhere").wait_for()
    assert "heard,turn" in page.locator("#theirs").inner_text()
    assert not (folder / "ada-lind-2026-12-07.toml").exists()
    follow(page, page.get_by_role("button", name="Keep the file").click)
    assert page.locator("[data-box=turn] .heard input[value=clean]").is_checked()
    story.press("w")
    _printed(story, folder)
    written = folder / "ada-lind-2026-12-07.toml"
    written.write_text(written.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    story.type(page.locator("#focus"), "Slow")
    story.press("w")
    dialog.get_by_text("ada-lind-2026-12-07.toml was changed elsewhere").wait_for()
    page.get_by_role("button", name="Decide later").click()
    assert "# mine" in written.read_text(encoding="utf-8")


def test_nine_players_in_a_row(folder: Path, story: Story) -> None:
    names = [f"Player {letter}" for letter in "ABCDEFGHI"]
    for place, name in enumerate(names):
        small_week(folder, name, lesson=f"tue 1{place}:00", file=f"{name[-1]}.toml")
    page = story.page
    story.open(names[0])
    for name in names:
        if name != names[0]:
            follow(page, lambda: story.press("l"))
        assert page.get_by_role("heading", name=name).is_visible()
        others = [other for other in [*names, "Ada Lind"] if other != name]
        assert not any(other in page.content() for other in others)
    story.press("l")
    assert page.get_by_text("This is the last lesson of the day.").is_visible()


HOSTILE = "<img src=x onerror=alert(1)> =SUM(A1) ${x} {{ 7*7 }} </script>"


@quick
def test_hostile_texts_are_letters(story: Story, folder: Path) -> None:
    page = story.page
    page.evaluate("window.alert = (text) => { window.harm = text; }")
    story.press("p")
    page.locator("[data-box=turn] .noticed").first.fill(f"{HOSTILE} \u202e")
    page.locator(".new .bars").fill("1")
    page.locator(".new .why").fill(HOSTILE)
    page.locator("#focus").fill(HOSTILE)
    story.type(page.locator("#notes"), HOSTILE)
    page.get_by_text("The focus is “<img src=x onerror=alert(1)>").wait_for()
    story.press("w")
    _printed(story, folder)
    (one,) = _log(folder)
    assert one.note == HOSTILE
    assert one.note in page.locator("[data-box=turn] .noticed").first.input_value()
    assert page.locator("main img").count() == 0
    assert page.evaluate("window.harm") is None
    assert _next(folder).week.notes == (HOSTILE,)


@pytest.mark.parametrize(
    "words",
    ["uk", pytest.param("us", marks=pytest.mark.long), pytest.param("de", marks=pytest.mark.long)],
)
def test_no_barriers(story: Story, folder: Path, words: str) -> None:
    page = story.page
    (folder / "studio.toml").write_text(f'format = 1\nwords = "{words}"\n', encoding="utf-8")
    page.reload()
    page.wait_for_load_state()
    story.press("p")
    page.locator("[data-box=turn] .other").first.fill("200")
    story.type(page.locator("[data-box=turn] .cell").first, "x")
    page.set_viewport_size({"width": 640, "height": 450})  # 200 % of 1280 by 900
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    assert_no_barriers(page)


@quick
def test_proposals_are_changed_and_refused(story: Story, folder: Path) -> None:
    page = story.page
    story.press("p")
    story.type(page.locator("[data-box=turn] .line"), "mon 60 5")
    story.type(page.locator("tr[data-piece=air] .broke"), "1")
    page.get_by_text("two metronome numbers lower").wait_for()
    story.looked(lambda: page.locator("[data-way=end]").select_option("park"))
    page.get_by_text("Box 2, Slow Air, bars 6–8: parked, as you chose.").wait_for()
    story.looked(page.locator("[data-kept=notes]").check)
    story.type(page.locator("[data-start=turn]"), "66")
    page.get_by_text("starts at crotchet = 66, as you chose").wait_for()
    story.looked(page.get_by_role("button", name="Box these bars").click)
    page.get_by_text("New box: Slow Air, bar 1.").wait_for()
    story.press("Escape", "w")
    _printed(story, folder)
    new = _next(folder)
    assert [box.id for box in new.boxes] == ["turn", "line", "air-1"]
    assert [box.id for box in new.parked] == ["end"]
    assert new.week.notes == ("Sing it",)
    start = new.box("turn").start
    assert start is not None
    assert start.number == 66


def test_an_answer_takes_away_nothing_that_was_chosen_or_typed_since(story: Story, folder: Path) -> None:
    page = story.page
    story.press("p")
    story.type(page.locator("[data-box=turn] .line"), "mon 60 5")
    held: list[Route] = []
    page.route("**/look?*", lambda route: held.append(route))
    stop_clock(page)
    with page.expect_request("**/look?*"):
        page.locator("[data-way=end]").select_option("park")
        after_a_while(page)
    page.locator("[data-kept=notes]").check()
    held.pop().continue_()  # of the time before that tick
    with page.expect_request("**/look?*"):
        after_a_while(page)
    page.locator("[data-start=turn]").focus()
    page.keyboard.type("6")
    story.looked(held.pop().continue_)
    page.keyboard.type("6")
    assert page.locator("[data-start=turn]").input_value() == "66"
    assert page.locator("[data-kept=notes]").is_checked()
    page.get_by_text("Box 2, Slow Air, bars 6–8: parked, as you chose.").wait_for()
