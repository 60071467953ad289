"""Boxes on printed pages at the desk, without a browser: what is looked at, what is written, what is refused.

The page is engraved from music21's corpus; the room that cuts paper makes each box again.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from excerpts.paper import find_pages, look
from excerpts.week import load_week
from excerpts.week.orders import Orders
from tests.desk.running import Answer, RunningDesk
from tests.paper.test_cut import WEEK, choral
from tests.paper.test_found import png, rendered


class Printed:
    """A desk on a studio whose one piece is a page of two systems of five bars."""

    def __init__(self, folder: Path) -> None:
        (folder / "studio.toml").write_text("format = 1\n", encoding="utf-8")
        (folder / "choral.pdf").write_bytes(choral())
        self.path = folder / "ada.toml"
        self.path.write_text(WEEK, encoding="utf-8")
        self.desk = RunningDesk(folder)

    @property
    def address(self) -> str:
        return f"/pages/{self.desk.desk.studio.players()[0].key}/choral"

    @property
    def text(self) -> str:
        return self.path.read_text(encoding="utf-8")

    def look(self, page: int = 1) -> dict[str, Any]:
        return self.desk.get(f"{self.address}/{page}/look").said

    def write(self, where: str = "box", **said: Any) -> Answer:
        shown = self.desk.desk.studio.saves.show(self.path)
        return self.desk.post(f"{self.address}/{where}", {"digest": shown.digest, "pages": [1], **said})


@pytest.fixture
def at(tmp_path: Path) -> Iterator[Printed]:
    printed = Printed(tmp_path)
    with printed.desk:
        yield printed


def test_a_page_is_a_picture_and_what_is_found_on_it(at: Printed) -> None:
    page = at.desk.get(at.address)
    assert page.status == 200
    assert "restricted even for teaching" not in page.text  # its pages were used before
    picture = at.desk.get(f"{at.address}/1/picture")
    assert picture.headers["content-type"] == "image/png"
    assert picture.body.startswith(b"\x89PNG")
    seen = at.look()
    assert [len(system["bars"]) for system in seen["systems"]] == [6, 6]
    assert seen["boxes"] == [{"id": "a", "number": 1, "spans": [], "areas": [[2, 70, 97, 130]], "fault": ""}]
    for name in ("9/picture", "9/look", "0/look"):
        assert at.desk.get(f"{at.address}/{name}").status == 404
    assert at.desk.get(at.address.replace("choral", "other")).status == 404
    led = at.desk.get(at.address.replace("/pages/", "/part/"))
    assert (led.status, led.headers["location"]) == (303, at.address)


def test_bars_are_boxed_changed_and_taken_away(at: Printed) -> None:
    said = at.write(do="add", parts=[[1, 1, 1, 4], [1, 2, 0, 2]], fields={"bars": "2-7", "note": "Soft"}).said
    assert at.text.endswith(
        'id = "choral-2-7"\npiece = "choral"\nbars = "2-7"\npage = 1\n'
        'systems = ["1: 1-4", "2: 0-2"]\nnote = "Soft"\n'
    )
    assert said["boxes"][1]["where"] == "page 1, line 1, bar 2 to page 1, line 2, bar 2"
    assert said["pages"][0]["boxes"][1]["spans"] == [[1, 1, 4], [2, 0, 2]]
    cut = Orders(load_week(at.path)).boxes[1].paper.made()
    assert cut is not None
    assert len(cut.lines) == 2
    assert (
        at.write(do="change", id="choral-2-7", fields={"why": ["shift"], "target": "crotchet = 72"}).status
        == 200
    )
    assert at.write(do="change", id="choral-2-7", parts=[[1, 2, 3, 5]]).status == 200
    box = load_week(at.path).boxes[1]
    assert (box.systems, box.bars, box.why, box.note) == (("2: 3-5",), None, ("shift",), "Soft")
    assert at.write(do="change", id="choral-2-7", fields={"bars": "the end", "minutes": "4"}).status == 200
    assert load_week(at.path).boxes[1].bars == "the end"
    assert at.write(do="remove", id="choral-2-7").status == 200
    assert at.text == WEEK


def test_a_rectangle_is_snapped_as_it_is_cut(at: Printed) -> None:
    system = look(find_pages(at.path.parent / "choral.pdf"), 1).systems[1]
    left, right, top, bottom = system.bars[1][0], system.bars[3][0], system.area[1], system.area[3]
    near = f"{left + 2},{top - 3},{right - 2},{bottom + 3}"
    (part,) = at.desk.get(f"{at.address}/1/snap?area={near}").said["parts"]
    assert part["span"] == [2, 1, 3]
    assert part["area"][0] == pytest.approx(left, abs=0.3)
    # One staff alone stays a rectangle, and to snap it again moves nothing.
    staff = system.staves[0]
    sides = [left + 8, staff[1] - 2, right - 8, staff[3] + 2]
    (part,) = at.desk.get(f"{at.address}/1/snap?area={','.join(map(str, sides))}").said["parts"]
    assert part["span"] is None
    assert at.write(do="add", page=1, area=sides).status == 200
    (written,) = [box.area for box in load_week(at.path).boxes if box.id != "a"]
    assert written == tuple(round(side, 1) for side in part["area"])
    (again,) = at.desk.get(f"{at.address}/1/snap?area={','.join(map(str, written))}").said["parts"]
    assert again["area"] == pytest.approx(written, abs=0.5)
    # From barline to barline it is bars; over both systems it is a part of each.
    assert at.write(do="add", page=1, area=[left + 1, top - 3, right - 1, bottom + 3]).status == 200
    assert 'systems = ["2: 1-3"]' in at.text
    upper = look(find_pages(at.path.parent / "choral.pdf"), 1).systems[0].area
    assert at.write(do="add", page=1, area=[80, upper[1] - 3, 125, bottom + 3]).status == 200
    assert len(load_week(at.path).boxes[-1].areas or ()) == 2


SENSELESS: tuple[dict[str, Any], ...] = (
    {"do": "add", "page": 1, "area": ["x", 1, 2, 3]},
    {"do": "add", "page": 1, "area": [90, 20, 10, 60]},
    {"do": "add", "page": 1, "area": [5, 278, 90, 286]},
    {"do": "add", "page": True, "area": [10, 20, 90, 60]},
    {"do": "add", "page": 1, "area": [float("1e308"), 2, 3, 4]},
    {"do": "add", "parts": ["first line"]},
    {"do": "add", "parts": [[1, 1, 4, 4]]},
    {"do": "add", "parts": [[1, 1, 0, 2]] * 21},
    {"do": "add", "parts": [[1, 1, 0, 2]], "fields": ["why"]},
    {"do": "add", "parts": [[1, 1, 0, 2]], "fields": {"target": "72"}},
    {"do": "add"},
    {"do": "change", "id": "a", "fields": {"minutes": "many"}},
    {"do": "remove", "id": "nobody"},
    {"do": "burn"},
)


def test_what_makes_no_sense_is_refused_and_nothing_written(at: Printed) -> None:
    for said in SENSELESS:
        answer = at.write(**said)
        assert answer.status in {404, 422}, said
        assert answer.said["error"], said
    assert at.text == WEEK


def test_bars_go_by_their_numbers_where_the_sum_is_right(at: Printed) -> None:
    said = at.write("numbers", page=1, first_bars=[41, 47, 51]).said
    first, second = said["pages"][0]["systems"]
    assert first["says"].startswith("5 bars are counted here, but 41 to 47 makes 6.")
    assert (first["known"], second["known"]) == (False, False)
    assert second["says"].startswith("5 bars are counted here, but 47 to 51 makes 4.")
    assert (
        at.desk.get(f"{at.address}/bars?bars=42")
        .said["error"]
        .startswith("page 1, system 1 (from bar 41): 5 bar")
    )
    said = at.write("numbers", page=1, first_bars=[41, 46]).said
    assert [one["says"][:23] for one in said["pages"][0]["systems"]] == ["", "5 bars are counted here"]
    assert at.write(do="add", parts=[[1, 2, 0, 2]]).status == 200  # not known for sure: by line and barline
    assert load_week(at.path).boxes[1].systems == ("2: 0-2",)
    at.write("numbers", page=1, first_bars=[41, 46, 51])
    assert "first_bars = {1 = [41, 46, 51]}" in at.text
    assert at.write(do="add", parts=[[1, 1, 3, 5], [1, 2, 0, 2]], fields={"bars": "anything"}).status == 200
    box = load_week(at.path).boxes[2]
    assert (box.bars, box.page, box.systems) == ("44-47", None, None)
    assert at.desk.get(f"{at.address}/bars?bars=44-47").said["parts"] == [[1, 1, 3, 5], [1, 2, 0, 2]]
    assert at.write(do="change", id=box.id, fields={"bars": "45"}).status == 200
    assert load_week(at.path).boxes[2].bars == "45"
    assert at.write(do="change", id=box.id, fields={"bars": "99"}).status == 422
    for wrong in ([41], [41, 46, 51, 56], ["41", "46"], [-1, 5], "41"):
        assert at.write("numbers", page=1, first_bars=wrong).status == 422, wrong
    # Numbers that are taken away leave the box by numbers without bars: it is told, and nothing is lost.
    assert at.write("numbers", page=1, first_bars=[]).status == 422
    assert "first_bars" in at.text


def test_a_photo_is_counted_by_a_person(at: Printed) -> None:
    photo = rendered(choral(), 200).astype(int) * 220 // 255 + np.arange(1654)[None, :] % 7
    (at.path.parent / "photo.png").write_bytes(png(photo.clip(0, 255).astype(np.uint8), 200))
    at.path.write_text(WEEK.replace("choral.pdf", "photo.png"), encoding="utf-8")
    assert at.desk.get(f"{at.address}/1/picture").headers["content-type"] == "image/jpeg"
    (page,) = at.write("numbers", page=1, first_bars=[0, 5, 10]).said["pages"]
    assert (page["unseen"], page["systems"][0]["known"]) == (True, False)
    (page,) = at.write("numbers", page=1, counted=True).said["pages"]
    assert (page["unseen"], page["systems"][0]["known"]) == (False, True)
    assert "counted = {1 = [5, 5]}" in at.text
    at.write("numbers", page=1, counted=False)
    assert "counted" not in at.text


def test_a_page_without_staves_says_so(at: Printed) -> None:
    Image.new("L", (1000, 1400), 255).save(at.path.parent / "white.png", dpi=(120, 120))
    at.path.write_text(WEEK.replace("choral.pdf", "white.png"), encoding="utf-8")
    assert at.look()["told"] == "no staves are found. Take it again: flat, from above, in even light."


def test_a_box_over_two_pages(at: Printed) -> None:
    folder = at.path.parent / "scans"
    folder.mkdir()
    for number in (1, 2):
        Image.fromarray(rendered(choral(), 200) // 128 * 255).convert("1").save(
            folder / f"{number}.png", dpi=(200, 200)
        )
    at.path.write_text(WEEK.replace("choral.pdf", "scans"), encoding="utf-8")
    said = at.write(do="add", parts=[[1, 2, 3, 5], [2, 1, 0, 1]], pages=[1, 2]).said
    assert 'page = 1\nsystems = ["2: 3-5", "2/1: 0-1"]\n' in at.text
    assert [page["boxes"][-1]["spans"] for page in said["pages"]] == [[[2, 3, 5]], [[1, 0, 1]]]
    assert said["boxes"][1]["pages"] == [1, 2]
    cut = Orders(load_week(at.path)).boxes[1].paper.made()
    assert cut is not None
    assert cut.line_pages == (1, 2)
    at.write("numbers", page=1, first_bars=[0, 5])
    at.write("numbers", page=2, first_bars=[10, 15, 20])
    assert "first_bars = {1 = [0, 5], 2 = [10, 15, 20]}\n" in at.text


def test_boxes_of_earlier_weeks_are_told(at: Printed) -> None:
    earlier = WEEK.replace("2026-11-30", "2026-11-23").replace('id = "a"', 'id = "b"')
    assert earlier.count("2026-11-23") == 1
    text = earlier.replace("area = [2, 70, 97, 130]", 'systems = ["1: 0-2"]')
    (at.path.parent / "ada-before.toml").write_text(text, encoding="utf-8")
    (old,) = [box for box in at.look()["boxes"] if not box["number"]]
    assert old["spans"] == [[1, 0, 2]]


def test_a_save_brings_the_digest_that_was_shown(at: Printed) -> None:
    answer = at.write(do="add", parts=[[1, 1, 0, 2]], digest="0" * 64)
    assert answer.status == 409
    assert at.text == WEEK
