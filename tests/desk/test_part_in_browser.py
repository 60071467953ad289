"""Boxing bars on the drawn part, in a browser: by drag, by keys, by edges, to the beat; undo and conflict.

The week file is read again by `load_week`, and the music that its workbook prints has the bars that were dragged over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from playwright.sync_api import Page, Route, expect

from excerpts.excerpt import Tempo
from excerpts.system.studio_files import workbook_path
from excerpts.week import load_week
from excerpts.week.orders import Orders
from excerpts.workbook import build_workbook
from tests.desk.barriers import assert_no_barriers
from tests.desk.gestures import after_a_while, all_drawn, come_in, follow, leave, open_drawn, stop_clock, undo
from tests.desk.part_music import SMALL, quartet, shifting, write_week
from tests.desk.running import RunningDesk
from tests.music import DIVISIONS, bars_of, note
from tests.pdf_text import text_of

pytestmark = pytest.mark.browser

Open = Callable[..., tuple["Part", Path]]


class Part:
    """The page of a part and what a teacher does on it."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def bar(self, place: int) -> tuple[float, float]:
        """The middle of a bar on the screen."""
        shown = self.page.locator(f'.bar[data-place="{place}"]')
        shown.scroll_into_view_if_needed()
        box = shown.bounding_box()
        assert box
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def inside(self, place: int, share: float) -> tuple[float, float]:
        """A point in a bar, so far from its left side."""
        box = self.page.locator(f'.bar[data-place="{place}"]').bounding_box()
        assert box
        return box["x"] + box["width"] * share, box["y"] + box["height"] / 2

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        self.page.mouse.move(*start)
        self.page.mouse.down()
        self.page.mouse.move(*end, steps=4)
        self.page.mouse.up()

    def expect_bars(self, bars: str) -> None:
        expect(self.page.locator("#bars")).to_have_value(bars)

    def box_it(self) -> None:
        self.page.click("#box-it")
        expect(self.page.locator("#remove")).to_be_visible()


@pytest.fixture
def open_part(folder: Path, desktop: Page) -> Iterator[Open]:
    with ExitStack() as until:

        def opened(data: bytes, boxes: str = "") -> tuple[Part, Path]:
            path = write_week(folder, data, boxes)
            desk = until.enter_context(RunningDesk(folder))
            until.callback(leave, desktop)
            come_in(desktop, desk)
            open_drawn(desktop, desk)
            return Part(desktop), path

        yield opened


def printed(path: Path, number: int = 1) -> tuple[str, list[int]]:
    """The bars of a box in the file, and the places of the bars that its workbook prints in the box."""
    week = load_week(path)
    music = Orders(week).boxes[number - 1].music.made()
    assert music is not None
    (box,) = music.boxes
    last = box.end.bar if box.end.onset > 0 else box.end.bar - 1
    return week.boxes[number - 1].bars or "", [bar.place for bar in music.bars[box.start.bar : last + 1]]


def fingers(path: Path) -> list[str | None]:
    """The fingers in the music of the first box, as its workbook prints it."""
    music = Orders(load_week(path)).boxes[0].music.made()
    assert music is not None
    return [one.text for one in music.tree().iter("fingering")]


def test_k458_boxed_by_drag_and_by_keys(open_part: Open) -> None:
    part, path = open_part(quartet())
    page = part.page
    assert page.locator(".bar").count() > 250
    part.drag(part.bar(21), part.bar(24))
    part.expect_bars("20-23")
    page.locator("#why label", has_text="shift").click()
    page.fill("#target", "84")
    part.box_it()
    assert printed(path) == ("20-23", [21, 22, 23, 24])
    assert load_week(path).boxes[0].why == ("shift",)
    page.keyboard.press("Escape")
    page.locator('.bar[data-place="41"]').focus()
    for key in ("ArrowRight", "Shift+ArrowRight", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#which")).to_have_text("Box 2")
    assert printed(path, 2) == ("41-42", [42, 43])
    expect(page.locator(".tag")).to_have_count(2)
    # An edge by the mouse, then by keys.
    side = page.locator('.edge[data-side="0"]')
    at = side.bounding_box()
    assert at
    part.drag((at["x"] + at["width"] / 2, at["y"] + at["height"] / 2), part.bar(40))
    part.expect_bars("39-42")
    side.focus()
    page.keyboard.press("ArrowRight")
    part.expect_bars("40-42")
    assert printed(path, 2) == ("40-42", [41, 42, 43])
    # Undone, step by step.
    for bars in ("39-42", "41-42"):
        undo(page, page.locator("#undo-last"))
        all_drawn(page)
        expect(page.locator("#list li").nth(1)).to_have_text(f"2bars {bars.replace('-', '–')}")
        assert printed(path, 2)[0] == bars


@pytest.mark.parametrize(
    ("name", "first", "last", "bars"),
    [
        ("pickup", 1, 3, "0-2"),
        ("repeated", 7, 9, "@7-@9"),
        ("voltas", 4, 6, "4-5"),
        ("two_staves", 2, 4, "2-4"),
    ],
)
def test_bars_that_are_hard_to_name(open_part: Open, name: str, first: int, last: int, bars: str) -> None:
    part, path = open_part(SMALL[name]())
    part.drag(part.bar(last), part.bar(first))  # backwards is as good
    part.expect_bars(bars)
    part.box_it()
    assert printed(path) == (bars, list(range(first, last + 1)))
    part.page.keyboard.press("Escape")
    # The same by keys alone.
    part.page.locator(f'.bar[data-place="{first}"]').focus()
    part.page.keyboard.press("Space")
    for _ in range(last - first):
        part.page.keyboard.press("Shift+ArrowRight")
    part.expect_bars(bars)
    part.page.keyboard.press("Enter")
    expect(part.page.locator("#which")).to_have_text("Box 2")
    assert printed(path, 2) == (bars, list(range(first, last + 1)))
    part.page.click("#remove")
    expect(part.page.locator("#list li")).to_have_count(1)
    # An edge of the first box, a mark in it, and both taken back.
    page = part.page
    page.click(".tag")
    listed = page.locator("#list li").inner_text()
    page.locator('.edge[data-side="0"]').focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#list li")).not_to_have_text(listed, use_inner_text=True)
    assert printed(path)[1] == list(range(first + 1, last + 1))
    undo(page, page.locator("#undo-last"))
    all_drawn(page)
    assert printed(path) == (bars, list(range(first, last + 1)))
    page.locator(f'.bar[data-place="{first}"]').focus()
    page.keyboard.press("n")
    page.keyboard.press("2")
    expect(page.locator("#note-name")).to_contain_text(": Finger 2")
    assert fingers(path) == ["2"]
    undo(page, page.locator("#undo-last"))
    assert fingers(path) == []


def test_to_the_beat(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    page.check("#by-beat")
    part.drag(part.inside(3, 0.6), part.inside(4, 0.4))
    part.expect_bars("2:3-3:2")
    part.box_it()
    assert printed(path) == ("2:3-3:2", [3, 4])
    page.locator('.edge[data-side="1"]').focus()
    page.keyboard.press("ArrowRight")
    part.expect_bars("2:3-3:3")
    page.uncheck("#by-beat")
    page.keyboard.press("Escape")
    page.keyboard.down("Alt")
    part.drag(part.inside(7, 0.4), part.inside(7, 0.6))
    page.keyboard.up("Alt")
    expect(page.locator("#bars")).to_have_value(re.compile(r"^6:.*-6:"))


def test_shift_click_typing_and_going_to_a_bar(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    page.mouse.click(*part.bar(3))
    page.keyboard.down("Shift")
    page.mouse.click(*part.bar(8))
    page.keyboard.up("Shift")
    part.expect_bars("2-7")
    page.mouse.click(*part.bar(6))
    part.expect_bars("5")
    page.fill("#bars", "3:2-4")
    page.keyboard.press("Tab")
    part.box_it()
    assert printed(path) == ("3:2-4", [4, 5])
    page.keyboard.press("Escape")
    page.keyboard.press("/")
    page.keyboard.type("9")
    page.keyboard.press("Enter")
    expect(page.locator(":focus")).to_have_attribute("data-place", "10")
    page.fill("#go-to", "999")
    page.keyboard.press("Enter")
    expect(page.locator("#told")).to_contain_text("999")


def test_what_is_done_at_once_after_something_else_comes_after_it(open_part: Open) -> None:
    """A drag after keys, a click after typing, an undo after a save: each as if the desk had answered at once."""
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    before = path.read_bytes()
    page.locator('.bar[data-place="3"]').focus()
    stop_clock(page)
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("#which")).to_have_text("Box 1")
    side = page.locator('.edge[data-side="1"]').bounding_box()
    assert side
    page.mouse.move(side["x"] + side["width"] / 2, side["y"] + side["height"] / 2)
    page.mouse.down()
    page.mouse.move(*part.bar(6), steps=4)
    after_a_while(page)
    page.mouse.move(*part.bar(8), steps=4)
    page.mouse.up()
    part.expect_bars("2-7")
    undo(page)
    assert printed(path)[0] == "2-3"  # the drag was one step
    undo(page)
    assert path.read_bytes() == before

    held: list[Route] = []
    page.route("**/where?bars=*", lambda route: held.append(route))
    page.mouse.click(*part.bar(2))
    part.expect_bars("1")
    page.fill("#bars", "4-5")
    with page.expect_request("**/where?bars=*"):
        page.click("#box-it")
    page.route("**/box", lambda route: held.append(route))
    with page.expect_request("**/box"):
        held.pop().continue_()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.locator("h1").click()
    page.keyboard.press("u")
    assert asked == []
    follow(page, lambda: held.pop().continue_())
    expect(page.locator("#told")).to_have_text("Undone: bars 4-5 of A Tune boxed")
    assert path.read_bytes() == before


def test_a_click_in_a_box_chooses_it_and_another_the_bar(open_part: Open) -> None:
    part, _ = open_part(SMALL["pickup"]())
    page = part.page
    part.drag(part.bar(3), part.bar(5))
    part.box_it()
    page.keyboard.press("Escape")
    page.mouse.click(*part.bar(4))
    expect(page.locator("#which")).to_have_text("Box 1")
    part.expect_bars("2-4")
    page.mouse.click(*part.bar(4))
    expect(page.locator("#which")).to_have_text("New box")
    part.expect_bars("3")
    page.mouse.click(*part.bar(8))
    part.expect_bars("7")


def test_a_conflict_with_an_editor_outside(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    part.drag(part.bar(3), part.bar(4))
    path.write_text(path.read_text(encoding="utf-8") + "# from outside\n", encoding="utf-8")
    page.click("#box-it")
    expect(page.locator("#conflict")).to_be_visible()
    expect(page.locator("#theirs")).to_contain_text("# from outside")
    assert "2-3" not in path.read_text(encoding="utf-8")
    page.click("#keep-ours")
    expect(page.locator("#remove")).to_be_visible()
    text = path.read_text(encoding="utf-8")
    assert "# from outside" in text
    assert "# what Mila plays" in text
    assert printed(path) == ("2-3", [3, 4])


def test_fields_of_a_box_are_saved_as_they_change(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    part.drag(part.bar(3), part.bar(4))
    part.box_it()
    page.fill("#note", 'Slow bow, "close" to the bridge')
    page.locator("#target").focus()
    page.keyboard.type("76")
    page.keyboard.press("Tab")
    expect(page.locator("#start-label")).to_contain_text("crotchet")
    page.locator("#why label", has_text="tone").click()
    expect(page.locator("#list")).to_contain_text("tone")
    box = load_week(path).boxes[0]
    assert box.note == 'Slow bow, "close" to the bridge'
    assert box.target == Tempo(Fraction(76))
    assert box.why == ("tone",)
    page.fill("#start", "fast")
    page.keyboard.press("Tab")
    expect(page.locator("#told")).to_contain_text("fast")
    assert load_week(path).boxes[0].start is None


def test_variants_are_pictures_and_a_tick_is_printed(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    part.drag(part.bar(3), part.bar(5))
    part.box_it()
    page.check("#by-note")
    page.mouse.click(*part.inside(3, 0.08))
    expect(page.locator("#note-name")).to_have_text("C5, 2:1")
    page.keyboard.press("3")
    expect(page.locator("#note-name")).to_have_text("C5, 2:1: Finger 3")
    page.uncheck("#by-note")
    follow(page, page.locator("#to-variants a").click)
    page.wait_for_selector("#fitting[data-all]")
    assert page.locator("#fitting svg").count() > 20
    unfit = page.locator(".unfit").text_content() or ""
    assert "Three slurred, one separate: the same notes here as Slurred in threes" in unfit
    assert "there is no double stop" in unfit
    page.locator('#fitting li[data-name="short-long"] input').check()
    expect(page.locator("#chosen")).to_have_text("Chosen: Short–long")
    page.locator('#fitting li[data-name="long-short"] input').check()
    expect(page.locator("#chosen")).to_have_text("Chosen: Short–long, Long–short")
    week = load_week(path)
    assert week.boxes[0].variants == ("short-long", "long-short")
    made = [order.made() for order in Orders(week).boxes[0].variants]
    assert [one.origin.variant for one in made if one is not None] == ["short-long", "long-short"]
    assert_no_barriers(page)
    # Built by the button of the week's page: the box, its variants, and the mark in each of their pictures.
    follow(
        page,
        lambda: page.goto(page.url.partition("/variants")[0].replace("/part/", "/week/").rpartition("/")[0]),
    )
    with_mark = build(page, path)
    text = text_of(with_mark)
    assert "A Tune, bars 2–4" in text
    assert text.index("Short–long") < text.index("Long–short")
    for _ in range(3):  # two ticks and the mark
        undo(page)
    week = load_week(path)
    assert (week.boxes[0].variants, week.pieces[0].marks) == (None, ())
    path.write_text(
        path.read_text(encoding="utf-8") + 'variants = ["short-long", "long-short"]\n', encoding="utf-8"
    )
    assert ink(with_mark) > ink(build_workbook(load_week(path)).pdf)


def build(page: Page, path: Path) -> bytes:
    """Press the button that makes the workbook, and read it when the page says that it is made."""
    with page.expect_popup() as opened:
        page.click("[data-make=workbook]")
    expect(page.locator("#made a")).to_be_visible()
    opened.value.close()
    return workbook_path(path.parent, "Mila Berg", load_week(path).week.start).read_bytes()


def ink(pdf: bytes) -> int:
    """How dark the pages of a workbook are. Outside check: PDFium draws them."""
    with pdfium.PdfDocument(pdf) as document:
        pages = [page.render(scale=2, grayscale=True).to_numpy() for page in document]
    return sum(int((255 - one.astype(int)).sum()) for one in pages)


def test_the_note_that_is_meant(open_part: Open) -> None:
    """Of a chord, of two voices, of grace notes: it is named and framed; the same once more takes its mark away."""
    short = note("D5:1").replace("<note>", "<note><grace/>").replace(f"<duration>{DIVISIONS}</duration>", "")
    back = f"<backup><duration>{4 * DIVISIONS}</duration></backup>"
    part, path = open_part(bars_of("D4+A4+F#5:4", f"{short} C#5:4", f"E5:4 {back} {note('A4:4', '2')}"))
    page, name = part.page, part.page.locator("#note-name")
    start = path.read_bytes()
    page.locator('.bar[data-place="1"]').focus()
    page.keyboard.press("n")
    expect(name).to_have_text("F#5, note 3 of 3 from the lowest, 1:1")
    expect(page.locator(".note.chord")).to_have_count(1)
    for key, said in (
        ("ArrowDown", "A4, note 2 of 3 from the lowest, 1:1"),
        ("1", "A4, note 2 of 3 from the lowest, 1:1: Finger 1"),
        ("ArrowRight", "D5, 2:1 grace"),
        ("2", "D5, 2:1 grace: Finger 2"),
        ("s", "D5, 2:1 grace: Finger 2"),
        ("ArrowRight", "C#5, 2:1"),
    ):
        page.keyboard.press(key)
        expect(name).to_have_text(said)
    expect(page.locator(".note.chord")).to_have_count(0)
    page.keyboard.press("Enter")
    expect(page.locator(".note.from")).to_have_count(0)
    for key, said in (
        ("ArrowRight", "E5, 3:1"),
        ("ArrowDown", "A4, 3:1, voice 2"),
        ("u", "A4, 3:1, voice 2: Bow up"),
    ):
        page.keyboard.press(key)
        expect(name).to_have_text(said)
    marks = ("1:1 finger - 1 -", "2:1 grace finger 2", "2:1 grace slur", "3:1 up voice 2")
    assert load_week(path).pieces[0].marks == marks
    # The same gestures once more.
    page.keyboard.press("u")
    expect(name).to_have_text("A4, 3:1, voice 2")
    page.keyboard.press("ArrowLeft")
    expect(name).to_have_text("C#5, 2:1")
    page.keyboard.press("ArrowLeft")
    expect(name).to_have_text("D5, 2:1 grace: Finger 2, Slur to 2:1")
    page.keyboard.press("2")
    expect(name).to_have_text("D5, 2:1 grace: Slur to 2:1")
    page.click("#slur-from")
    page.mouse.click(*part.inside(2, 0.5))
    expect(name).to_have_text("D5, 2:1 grace")
    page.keyboard.press("ArrowLeft")
    expect(name).to_have_text("F#5, note 3 of 3 from the lowest, 1:1")
    page.keyboard.press("ArrowDown")
    expect(name).to_contain_text(": Finger 1")
    page.locator("#away button:visible").click()
    expect(name).to_have_text("A4, note 2 of 3 from the lowest, 1:1")
    assert path.read_bytes() == start


def test_a_mark_on_a_shared_piece_asks_for_whom(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page, section = part.page, path.with_name("section.toml")
    head, piece = path.read_text(encoding="utf-8").split("[[piece]]")
    section.write_text(f"[[piece]]{piece}", encoding="utf-8")
    path.write_text(head.replace("[player]", 'include = "section.toml"\n[player]'), encoding="utf-8")
    follow(page, page.reload)
    all_drawn(page)
    page.check("#by-note")
    for number, (button, finger) in enumerate((("#for-none", "1"), ("#for-all", "2"))):
        page.mouse.click(*part.inside(3, 0.08))
        expect(page.locator("#note-name")).to_have_text("C5, 2:1")
        page.keyboard.press(finger)
        expect(page.locator("#for-whom")).to_contain_text("From the set section.toml")
        page.click(button)
        expect(page.locator("#for-all-now")).to_have_text(
            "Your changes here are for all who share the set section.toml." if number else ""
        )
    expect(page.locator("#note-name")).to_have_text("C5, 2:1: Finger 2")
    assert 'marks = ["2:1 finger 2"]' in section.read_text(encoding="utf-8")
    page.keyboard.press("3")  # and nobody is asked again
    expect(page.locator("#note-name")).to_have_text("C5, 2:1: Finger 3")
    follow(page, page.reload)
    all_drawn(page)
    page.locator('.bar[data-place="3"]').focus()
    page.keyboard.press("n")
    page.keyboard.press("4")
    page.click("#for-own")
    expect(page.locator("#note-name")).to_have_text("C5, 2:1: Finger 4")
    assert 'marks = ["2:1 finger 3"]' in section.read_text(encoding="utf-8")
    assert 'marks = ["2:1 finger 4"]' in path.read_text(encoding="utf-8")
    undo(page, page.locator("#undo-last"))
    assert "marks" not in path.read_text(encoding="utf-8")


@pytest.mark.long
def test_what_the_page_loads_is_bounded(open_part: Open) -> None:
    """283 bars: bytes and elements, not times."""
    part, _ = open_part(quartet())
    page = part.page
    answers: list[int] = []
    page.on(
        "response", lambda answer: answers.append(len(answer.body())) if "/lines/" in answer.url else None
    )
    page.reload()
    all_drawn(page)
    page.wait_for_load_state("networkidle")
    assert len(answers) < 12
    assert sum(answers) < 1_100_000
    assert page.evaluate("document.querySelectorAll('#music *').length") < 2_500


@pytest.mark.long
def test_without_findings_of_axe(open_part: Open) -> None:
    part, _ = open_part(SMALL["pickup"](), '[[box]]\nid = "a"\npiece = "tune"\nbars = "2-3"\n')
    part.page.click(".tag")
    expect(part.page.locator("#which")).to_have_text("Box 1")
    assert_no_barriers(part.page)


def test_marks_on_notes_by_mouse_and_by_keys(open_part: Open) -> None:
    part, path = open_part(SMALL["pickup"]())
    page = part.page
    part.drag(part.bar(3), part.bar(4))
    part.box_it()
    page.keyboard.press("Escape")
    page.check("#by-note")
    page.mouse.click(*part.inside(3, 0.08))
    expect(page.locator("#note-name")).to_have_text("C5, 2:1")
    page.keyboard.press("2")
    expect(page.locator("#note-name")).to_have_text("C5, 2:1: Finger 2")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#note-name")).to_have_text("D5, 2:1.5")
    page.click("[data-value=up]")
    expect(page.locator("#note-name")).to_have_text("D5, 2:1.5: Bow up")
    page.click("#slur-from")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#note-name")).to_have_text("F5, 2:2.5")
    page.keyboard.press("Enter")
    expect(page.locator(".note.from")).to_have_count(0)
    assert load_week(path).pieces[0].marks == ("2:1 finger 2", "2:1.5 up", "2:1.5-2:2.5 slur")
    music = Orders(load_week(path)).boxes[0].music.made()
    assert music is not None
    assert all(word in music.xml for word in (b"<fingering>2<", b"<up-bow", b"<slur"))
    undo(page, page.locator("#undo-last"))
    assert load_week(path).pieces[0].marks == ("2:1 finger 2", "2:1.5 up")


def test_work_fingers_and_sound_on_request(open_part: Open) -> None:
    part, path = open_part(shifting())
    page = part.page
    assert page.locator(".work, .finger").count() == 0
    page.click("#show-work")
    expect(page.locator(".work").first).to_be_visible()
    page.locator("#work button").first.click()
    part.expect_bars("4-5")
    part.box_it()
    page.click("#show-fingers")
    expect(page.locator(".finger").first).to_be_visible()
    before = page.locator(".finger").count()
    page.click("#take-all button")
    expect(page.locator(".finger")).not_to_have_count(before)
    assert any("finger" in mark for mark in load_week(path).pieces[0].marks)
    with page.expect_response(lambda answer: "/hear?box=" in answer.url) as heard:
        page.click("#hear")
    assert heard.value.status == 200
    page.locator("#sound").evaluate(
        "(one) => one.duration || new Promise((done) => one.addEventListener('loadedmetadata', done, { once: true }))"
    )
    assert page.locator("#sound").evaluate("(one) => one.duration") > 1
    page.click("#show-work")
    expect(page.locator(".work")).to_have_count(0)
    assert_no_barriers(page)
