"""The player's page as a file: what it holds, and that nothing gets in or out (default tier, the largest one slow)."""

from __future__ import annotations

import json
import re
from base64 import b64decode, b64encode
from fractions import Fraction
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from lxml import etree
from PIL import Image

from excerpts.cli import main
from excerpts.excerpt import Tempo
from excerpts.player_page import build_page
from excerpts.player_page.bar_texts import bar_texts
from excerpts.player_page.sealed import as_data, script
from excerpts.score import open_score
from excerpts.sound.perform import perform
from excerpts.system.resources import scores, templates
from excerpts.week import load_week
from excerpts.week.measured import week_music
from excerpts.week.orders import Orders
from excerpts.week.plan import plan_week
from excerpts.words import Words
from tests.music import bars_of
from tests.player_page.page_weeks import CHILD, HOSTILE, SHORT, SIX, data_of, tree, week

MODULES = sorted((templates() / "player_page").glob("*.mjs"))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return build_page(week(tmp_path_factory.mktemp("page"))).html


@pytest.fixture(scope="module")
def child(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return build_page(week(tmp_path_factory.mktemp("child"), CHILD)).html


def test_nothing_gets_in_or_out(built: bytes) -> None:
    """Outside check: CSP Level 3 (W3C), the hash of an inline script or style is that of its text as it stands."""
    root = tree(built)
    (policy,) = root.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in policy
    assert rules["media-src"] == "blob:"
    (style,) = root.xpath("//style/text()")
    (module,) = root.xpath("//script[@type='module']/text()")
    for name, text in (("style-src", style), ("script-src", module)):
        assert rules[name] == f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"
    assert len(root.xpath("//script")) == 2  # the other one is data
    assert root.xpath("//@style | //@onclick | //@src | //link | //iframe | //object") == []
    addresses = root.xpath("//@href")
    assert addresses
    assert all(one.startswith(("#", "data:application/vnd.recordare.musicxml;base64,")) for one in addresses)
    assert "http://" not in re.sub(r"http://www\.w3\.org/2000/svg", "", built.decode())
    assert "https://" not in module


def test_places_that_are_linked_to_are_there(built: bytes) -> None:
    root = tree(built)
    wanted = {one[1:] for one in root.xpath("//@href") if one.startswith("#")}
    assert wanted <= set(root.xpath("//@id"))


def test_a_hostile_title_is_letters(built: bytes) -> None:
    root = tree(built)
    assert HOSTILE.split("</script>")[0] in root.xpath("string(//section[@id='boxes'])")
    assert "<script>document" in root.xpath("string(//section[@id='boxes'])")
    assert {one["title"] for one in data_of(built)["pieces"]} == {HOSTILE, "Evening Song"}


@pytest.mark.parametrize("text", ["</script>", "<!--", "]]>", "&amp;", "\u2028"])
def test_data_cannot_leave_its_element(text: str) -> None:
    root = tree(f'<p><script type="application/json" id="data">{as_data({"a": text})}</script>'.encode())
    assert json.loads(root.xpath("//script")[0].text) == {"a": text}


def test_all_can_be_read_without_the_script(built: bytes) -> None:
    root = tree(built)
    assert root.xpath("//*[@hidden]") == []
    assert len(root.xpath("//section[@class='day']")) == 7
    assert len(root.xpath("//section[contains(@class, 'box')]//*[name()='svg']")) >= 2
    assert all(root.xpath("//*[name()='svg']/@aria-label"))
    text = root.xpath("string(//main)")
    for said in ("p. 7, bars 1–4", "After a slip", "If anything hurts", "one long line", "54 · "):
        assert said in text
    assert "works without scripts" in root.xpath("string(//noscript)")


def test_the_same_week_gives_the_same_bytes(built: bytes, tmp_path: Path) -> None:
    assert build_page(week(tmp_path)).html == built


def test_what_is_for_the_teacher_alone_is_not_there(tmp_path: Path) -> None:
    text = SHORT.replace("record = true", 'notes = ["Sing it."]\nprivate = ["Ask about the exam."]')
    html = build_page(week(tmp_path, text)).html.decode()
    assert "Sing it." in html
    assert "exam" not in html


def test_draws_are_those_of_the_plan(tmp_path: Path) -> None:
    one = week(tmp_path, SHORT)
    plan = plan_week(one, week_music(one))
    drawn = {day.date.isoformat(): day.run_through for day in plan.days if day.run_through}
    assert drawn
    kinds = set()
    for day in data_of(build_page(one).html)["days"]:
        run = drawn.get(day["date"])
        assert (day["run"] is None) == (run is None)
        if run is not None:
            kinds.add(run.kind)
            pieces = [entry["piece"] for entry in day["run"]["list"] if not entry["start"]]
            assert pieces == (list(run.pieces) if run.kind != "day" else [])
    assert {"drawn", "light", "day"} <= kinds


def test_a_child_has_three_big_things_a_day(child: bytes) -> None:
    root, data = tree(child), data_of(child)
    assert data["child"]
    assert not data["record"]  # whatever the week says
    days = root.xpath("//section[@class='day']")
    assert {len(day.xpath(".//li")) for day in days if day.xpath(".//li")} == {3}
    assert all(item["minutes"] == 0 for day in data["days"] for item in day["items"])
    assert " min" not in root.xpath("string(//section[@id='days']//ul)")
    assert data["concerts"] == []
    assert root.xpath("//section[@id='stage']") == []


@pytest.mark.parametrize(
    ("age", "line", "may"),
    [("age = 8", "record = true", False), ("age = 11", "", False), ("age = 11", "record = true", True),
     ("age = 12", "", True), ("age = 12", "record = false", False), ("", "", True)],
)  # fmt: skip
def test_who_may_record(age: str, line: str, may: bool, tmp_path: Path) -> None:
    text = SHORT.replace("age = 12", age).replace("record = true", line)
    assert week(tmp_path, text).records is may


def test_a_step_is_what_the_performance_says(built: bytes, tmp_path: Path) -> None:
    one = week(tmp_path)
    step, *_ = data_of(built)["boxes"][0]["steps"]
    assert (step["label"], step["number"], step["unit"], step["bar"]) == (
        "crotchet = 54",
        "54",
        "crotchet",
        2,
    )
    music = Orders(one).boxes[0].music.made()
    assert music is not None
    take = perform(music).at(Tempo(Fraction(54)))
    assert len(step["notes"]) == len(take.notes) == 7
    for (start, length, key, *_rest), note in zip(step["notes"], take.notes, strict=True):
        assert start == pytest.approx(float(take.tempos.seconds(note.onset)), abs=1e-4)
        assert length == pytest.approx(float(note.length) * 60 / 54, abs=1e-4)
        assert key == float(note.pitch)
    times = [time for time, _ in step["clicks"]]
    assert times == pytest.approx([n * 60 / 54 for n in range(-2, 4)], abs=1e-4)
    assert [strong for _, strong in step["clicks"]] == [True, False] * 3


def test_steps_and_wanted_runs_are_those_of_the_workbook(built: bytes) -> None:
    one, two = data_of(built)["boxes"]
    assert [step["number"] for step in one["steps"]] == ["54", "60", "66", "72", "76", "80"]
    assert (one["wanted"], two["wanted"]) == (3, 2)
    assert [step["bpm"] for step in two["steps"]] == [0]
    assert one["drone"] == 62  # D4


def test_a_box_reads_itself(tmp_path: Path) -> None:
    finger = "<technical><fingering>{}</fingering></technical>"
    slur = '<slur type="{}" number="1"/>'
    marked = [
        f"D5:1[<notations>{finger.format(1)}</notations>]",
        f"E5:0.5[<notations>{slur.format('start')}{finger.format(2)}</notations>]",
        f"F#5:0.5[<notations>{slur.format('stop')}</notations>]",
        "r:2",
    ]
    up = "A4:1.5[<notations><technical><up-bow/></technical></notations>]"
    path = tmp_path / "two.musicxml"
    path.write_bytes(bars_of(" ".join(marked), f"{up} G#4:0.5 Bb4:2"))
    music = open_score(path).part().passage("1-2").cut()
    first, second = bar_texts(music, Words("uk"))
    assert first.bar == "Bar 1"
    assert first.text == (
        "beat 1: D 5, crotchet, finger 1; beat 2: E 5, quaver, finger 2, slur begins; "
        "beat 2.5: F-sharp 5, quaver, slur ends; beat 3: rest, minim"
    )
    assert second.text == (
        "beat 1: A 4, dotted crotchet, up-bow; beat 2.5: G-sharp 4, quaver; beat 3: B-flat 4, minim"
    )
    assert bar_texts(music, Words("de"))[1].text.endswith("Schlag 3: B 4, Halbe")


def test_no_bar_of_context_is_read() -> None:
    music = open_score(scores() / "mill-wheel-dance.mxl").part().passage("14-15").cut(context=1)
    assert [one.bar for one in bar_texts(music, Words("us"))] == ["Measure 14", "Measure 15"]


def test_the_music_can_be_saved(built: bytes, tmp_path: Path) -> None:
    (address,) = tree(built).xpath("//a[@download='box-1.mxl']/@href")
    path = tmp_path / "box.mxl"
    path.write_bytes(b64decode(address.partition(",")[2]))
    root = etree.fromstring(ZipFile(path).read("score.musicxml"))
    assert root.tag == "score-partwise"
    assert open_score(path).parts


def test_what_the_script_says_is_in_the_words_and_the_other_way_round() -> None:
    text = "\n".join(path.read_text(encoding="utf-8") for path in MODULES)
    said = set(re.findall(r'"([a-z]+(?:_[a-z]+)*)"', text)) | {"rule"}
    said |= {f"{start}_{end}" for start, end in [("offer", "up"), ("offer", "slower"), ("offer", "goal")]}
    said |= {f"beat_{name}" for name in ("sound", "light", "first")}
    assert set(Words().table("page.script")) <= said
    asked = set(re.findall(r'say\("(\w+)"', text)) - {"rule", "hurts_text"}
    assert asked <= set(Words().table("page.script"))


def test_modules_are_joined_into_one_text() -> None:
    joined = script()
    assert "import " not in joined
    assert "export " not in joined
    assert "/**" not in joined
    names = re.findall(r"^(?:async )?(?:function|class|const|let) (\w+)", joined, flags=re.MULTILINE)
    assert len(names) == len(set(names))


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = week(tmp_path).path
    out = tmp_path / "out.html"
    assert main(["page", str(path), "-o", str(out)]) == 0
    assert out.read_bytes().startswith(b"<!DOCTYPE html>")
    assert main(["page", str(path), "-o", str(tmp_path / "out.pdf")]) == 2
    assert main(["page", str(path), "-o", str(out)]) in (0, 2)
    capsys.readouterr()


@pytest.mark.slow
def test_six_boxes_stay_below_half_a_megabyte(tmp_path: Path) -> None:
    built = build_page(week(tmp_path, SIX)).html
    pictures: list[Any] = tree(built).xpath("//*[name()='svg']")
    assert len(pictures) >= 20
    assert len(built) <= 500_000


@pytest.mark.slow
def test_a_box_from_a_printed_page_is_a_picture(tmp_path: Path) -> None:
    from tests.paper.test_week import week_in

    built = build_page(load_week(week_in(tmp_path))).html
    pictures = tree(built).xpath("//section[@id='box-1']//img")
    assert pictures
    assert "img-src data:" in tree(built).xpath("string(//meta[@http-equiv]/@content)")
    for one in pictures:
        assert one.get("alt")
        with Image.open(BytesIO(b64decode(one.get("src").partition(",")[2]))) as picture:
            assert picture.format == "PNG"
            assert 200 < picture.width <= 720
            assert one.get("width") == f"{round(100 * picture.width / 720)}%"
            ink = sum(picture.convert("L").histogram()[:100])
            assert 0.01 < ink / (picture.width * picture.height) < 0.3
    assert data_of(built)["boxes"][0]["steps"][0]["notes"] == []
    assert data_of(built)["boxes"][0]["steps"][0]["bpm"] == 46


def test_a_week_says_whether_it_wants_a_page(tmp_path: Path) -> None:
    assert week(tmp_path, SIX.replace("page = true", "page = true")).player.page
    assert not load_week(week(tmp_path).path).player.page
