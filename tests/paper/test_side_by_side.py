"""The same bars from MusicXML and from printed pages; the lesson sheet; what a photo tells of where it was taken."""

from __future__ import annotations

import json
import re
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from shutil import copyfile

import pytest
from lxml import etree
from PIL import Image

from excerpts.cli import main
from excerpts.score import open_score
from excerpts.week import load_week
from excerpts.week.orders import Orders
from tests.heads import head
from tests.paper.engraved import SVG, as_pdf, engraved
from tests.paper.test_cut import WEEK, choral
from tests.paper.test_found import photographed, rendered
from tests.pdf_text import text_of

AIR = "leadSheet/fosterBrownHair.mxl"


def ran(*arguments: object) -> int:
    return main([str(one) for one in arguments])


def first_bars(path: Path, page: str) -> list[int]:
    """The number at each system and the one after the last: from the engraver's bars, one for each of the file's."""
    root = etree.fromstring(page.encode())
    counts = [
        len([group for group in system.iter(f"{SVG}g") if group.get("class") == "measure"])
        for system in root.iter(f"{SVG}g")
        if system.get("class") == "system"
    ]
    labels = [int(label) for label in open_score(path).part("#1").bars.labels]
    places = [sum(counts[:number]) for number in range(len(counts) + 1)]
    return [labels[place] if place < len(labels) else labels[-1] + 1 for place in places]


BOTH = f"""{head("middle", name="Ada Lind", age="15", minutes="45")}\
[[piece]]
id = "air"
title = "Air"
minutes = 10
SOURCE
[[box]]
id = "a"
piece = "air"
bars = "BARS"
target = "crotchet = 92"
why = ["uneven"]
"""


@pytest.mark.slow
def test_eight_bars_from_a_file_and_from_its_printed_page_are_the_same_bars_plan_and_log(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    corpus = Path(str(find_spec("music21").origin)).parent / "corpus"  # type: ignore[union-attr]
    copyfile(corpus / AIR, tmp_path / "air.mxl")
    page = engraved(AIR, "Leipzig", 7.0)
    (tmp_path / "air.pdf").write_bytes(as_pdf(page))
    firsts = first_bars(tmp_path / "air.mxl", page.svg)
    first = firsts[1] + 1
    bars = f"{first}-{first + 7}"
    sources = {
        "file": 'score = "air.mxl"',
        "page": f'pages = "air.pdf"\nfirst_bars = {{1 = {firsts}}}\nmetre = "4/4"',
    }
    plans, logs, orders = {}, {}, {}
    for name, source in sources.items():
        folder = tmp_path / name
        folder.mkdir()
        for music in ("air.mxl", "air.pdf"):
            copyfile(tmp_path / music, folder / music)
        week = folder / "ada.toml"
        week.write_text(BOTH.replace("SOURCE", source).replace("BARS", bars), encoding="utf-8")
        assert ran("check", week) == 0
        capsys.readouterr()
        assert ran("plan", week, "--json") == 0
        plans[name] = json.loads(capsys.readouterr().out)
        assert (
            ran("log", week, "--box", "a", "--tempo", "60", "--clean", "5", "--day", "mon", "--bars", first)
            == 0
        )
        (log,) = folder.glob("*.csv")
        logs[name] = log.read_text(encoding="utf-8")
        orders[name] = Orders(load_week(week)).boxes[0]
    assert plans["file"] == plans["page"]
    assert logs["file"] == logs["page"]
    cut, excerpt = orders["page"].paper.made(), orders["file"].music.made()
    assert cut is not None
    assert excerpt is not None
    boxed = [bar.label for bar in excerpt.bars[excerpt.boxes[0].start.bar : excerpt.boxes[0].end.bar + 1]]
    assert [int(label) for label in boxed if label] == list(range(first, first + 8))
    # Each line ends with a barline, and those inside it make the rest of the eight bars.
    counted = 0
    for line in cut.lines:
        left, right = line.box or (0.0, line.width_mm)
        counted += sum(left + 1 < bar < right - 1 for bar in line.bars) + 1
    assert counted == 8


@pytest.mark.slow
def test_the_lesson_sheet_and_single_sections_take_the_box(tmp_path: Path) -> None:
    (tmp_path / "choral.pdf").write_bytes(choral())
    week = tmp_path / "ada.toml"
    week.write_text(WEEK, encoding="utf-8")
    assert ran("lesson", week, "-o", tmp_path / "lesson.pdf") == 0
    assert "Choral" in text_of((tmp_path / "lesson.pdf").read_bytes())
    assert ran("workbook", week, "--only", "boxes", "-o", tmp_path / "boxes.pdf") == 0
    assert "S." in text_of((tmp_path / "boxes.pdf").read_bytes())


def test_a_box_whose_photo_follows_later_keeps_its_place_and_gets_its_page(tmp_path: Path) -> None:
    from excerpts.weekfile.items import BoxItem

    box = BoxItem.model_validate(
        {"id": "a", "piece": "b", "place": "p. 14, bars 12-16", "page": 1, "systems": ["2: 1-4"]}
    )
    assert (box.place, box.systems) == ("p. 14, bars 12-16", ("2: 1-4",))


@pytest.mark.slow
def test_where_and_when_a_photo_was_taken_is_not_in_the_workbook(tmp_path: Path) -> None:
    facts = Image.Exif()
    facts[0x0132] = "2026:11:29 17:04:59"
    facts[0x010F] = "Telephone of Nobody"
    facts.get_ifd(0x8825)[2] = (47.0, 22.0, 11.0)
    written = BytesIO()
    Image.fromarray(photographed(rendered(choral(), 200))).save(
        written, "JPEG", quality=92, dpi=(200, 200), exif=facts
    )
    assert b"Telephone of Nobody" in written.getvalue()
    (tmp_path / "photo.jpg").write_bytes(written.getvalue())
    week = tmp_path / "ada.toml"
    week.write_text(WEEK.replace("choral.pdf", "photo.jpg"), encoding="utf-8")
    target = tmp_path / "a.pdf"
    assert ran("workbook", week, "-o", target) == 0
    held = target.read_bytes()
    assert not re.search(rb"Telephone|17:04|Exif|photo\.jpg", held)
