"""`excerpts hard`: loads, reasons in words, passages as boxes, the strip."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from lxml import etree

from excerpts.cli import main
from excerpts.lefthand.fingering import finger_part
from excerpts.lefthand.read_part import read_part
from excerpts.lefthand.work import passages, work_of
from excerpts.score import open_score
from excerpts.system.resources import scores
from excerpts.teacher.hard_bars import HardBars, hard_bars
from excerpts.teacher.strip import strip_rows
from excerpts.words import Words
from tests.lefthand.hands import reading
from tests.pdf_text import text_of

GALE = scores() / "gale-concerto-1.musicxml"


def hard_of(*bars: str, words: str = "uk") -> HardBars:
    return hard_bars(finger_part(reading(*bars)), Words(words))


def gale() -> HardBars:
    return hard_bars(finger_part(read_part(open_score(GALE).part())), Words("uk"))


def string(number: int, finger: int) -> str:
    return f"[<notations><technical><fingering>{finger}</fingering><string>{number}</string></technical></notations>]"


def test_the_load_of_a_bar_is_that_of_its_notes_by_the_second() -> None:
    """120 crotchets a minute: each bar lasts two seconds."""
    first = f'<sound tempo="120"/> D5:1{string(2, 3)} D5:1 D5:1 D5:1'
    shift = f"F5:1{string(2, 3)} F5:1 F5:1 F5:1"  # from first to third position
    skip = f"D5:2{string(2, 3)} B3:2{string(4, 2)}"  # back, then over a string
    bars = work_of(finger_part(reading(first, shift, skip)))
    assert [bar.seconds for bar in bars] == [2, 2, 2]
    assert [bar.load for bar in bars] == pytest.approx(
        [4 * 0.25 / 2, (4 * 0.25 + 1 + 2 * 0.5) / 2, (2 * 0.25 + 1 + 2 * 0.5 + 0.5 + 0.5) / 2]
    )
    assert bars[1].of("shift") == pytest.approx(1.0)
    assert bars[2].of("crossing") == pytest.approx(0.5)


def test_a_bar_cut_short_counts_as_a_whole_one() -> None:
    whole, short = (work_of(finger_part(reading(bar)))[0] for bar in ("D4:1 r:3", "D4:1"))
    assert whole.load == short.load


def test_reasons_are_words_with_bar_and_beat() -> None:
    high = f"D5:1{string(2, 3)} C6:1/4{string(1, 1)} D6:1/4 E6:1/4 F#6:1/4 E6:2"
    hard = hard_of("D5:4", high)
    told = hard.reasons([hard.bars[1]])
    assert any(reason.startswith("shift 1 to 5 (semiquaver), bar 2 beat 2") for reason in told), told
    assert any(reason.startswith("up to position") for reason in told)
    american = hard_of("D5:4", high, words="us")
    assert any("(sixteenth note), measure 2 beat 2" in one for one in american.reasons([american.bars[1]]))


def test_skipped_strings_and_double_stops_are_counted() -> None:
    hard = hard_of("G3:1 E5:1 G3:1 E5:1", "D4+B4:2 E4+C5:2")
    told = [*hard.reasons([hard.bars[0]]), *hard.reasons([hard.bars[1]])]
    assert "2 double stops" in told
    assert any("skipped strings" in reason for reason in told), told


def test_passages_do_not_overlap_and_none_comes_back() -> None:
    made = gale()
    chosen = made.passages(6)
    bars = [bar.measure for passage in chosen for bar in passage.bars]
    assert len(bars) == len({*bars}) == len(sorted(bars))
    assert bars == sorted(bars)
    busy, quiet = "D5:1/2 E5:1/2 D6:1/2 C5:1/2 D5:1/2 E6:1/2 A4:1/2 B5:1/2", "D5:4"
    again = finger_part(reading(busy, quiet, quiet, busy, quiet))
    assert len(passages(again, work_of(again), 6)) == 1


def test_passages_that_touch_are_joined_and_others_come_in() -> None:
    made = gale()
    addresses = [made.address(passage) for passage in made.passages(4)]
    assert addresses[:2] == ["13-15", "30-36"]
    assert len(addresses) == 4
    assert len(made.passages(6)) == 6  # two that touch stay apart where nothing else would come in
    assert made.told(made.passages(4))[1].startswith("bars 30–36: ")


@pytest.mark.parametrize("level", [("first", 2), ("middle", 4), ("advanced", 6)])
def test_there_are_as_many_as_the_level_bears(
    level: tuple[str, int], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["hard", str(GALE), "--level", level[0], "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert len(found["passages"]) == level[1]
    assert len(found["bars"]) == len(open_score(GALE).part().bars)


def test_a_passage_begins_and_ends_where_slurs_do() -> None:
    start, stop = (f'[<notations><slur number="1" type="{edge}"/></notations>]' for edge in ("start", "stop"))
    made = hard_of(
        "D4:2 D4:2",
        f"D4:2 D4:1 E5:1{start}",
        f"D6:1/2{stop} F#5:1/2 A4:1/2 E6:1/2 C5:1/2 A5:1/2 B4:1/2 D6:1/2{start}",
        f"G5:1{stop} D4:3",
        "D4:4",
    )
    (passage,) = made.passages(2)
    assert made.address(passage) == "2:4-4:1"


@pytest.mark.slow
def test_boxes_can_be_pasted_into_a_week_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["hard", str(GALE), "--boxes"]) == 0
    text = capsys.readouterr().out
    boxes = tomllib.loads(text)["box"]
    assert [sorted(box) for box in boxes] == [["bars", "id", "piece", "start", "target", "why"]] * 4
    assert text.count("\n# ") + text.startswith("# ") == 4  # the reasons are for the teacher alone
    head = (
        '[player]\nname = "Mia"\ninstrument = "viola"\nlevel = "middle"\n[week]\nstart = 2026-11-30\n'
        f'minutes = {{mon = 30}}\n[[piece]]\nid = "{boxes[0]["piece"]}"\ntitle = "Concerto"\n'
        'score = "gale-concerto-1.musicxml"\n'
    )
    (tmp_path / GALE.name).write_bytes(GALE.read_bytes())
    (tmp_path / "week.toml").write_text(f"format = 1\n{head}{text}", encoding="utf-8")
    assert main(["check", str(tmp_path / "week.toml")]) == 0


def test_the_list_names_the_hardest_first(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["hard", str(GALE)]) == 0
    head, *lines = capsys.readouterr().out.splitlines()
    assert head.endswith("bars with the most left-hand work")
    loads = [float(line.split()[1]) for line in lines[:12]]
    assert loads == sorted(loads, reverse=True)


def test_the_strip_has_a_column_for_each_bar_with_notes() -> None:
    made = gale()
    rows = strip_rows(made, made.passages(4))
    drawn = etree.fromstring(rows[0].svg().encode())
    columns = {one.get("x") for one in drawn.iter("{*}rect")}
    assert len(columns) == sum(bool(bar.notes) for bar in made.bars)
    long = hard_of(*["D4:4"] * 200)
    assert len(strip_rows(long, [])) == 3


def test_svg_and_pdf_say_the_same(tmp_path: Path) -> None:
    for name in ("strip.svg", "strip.pdf"):
        assert main(["hard", str(GALE), "-o", str(tmp_path / name)]) == 0
    text = text_of(tmp_path / "strip.pdf")
    assert "bars with the most left-hand work" in text
    assert "changes of string" in text
    assert "double stops" in (tmp_path / "strip.svg").read_text(encoding="utf-8")
    again = tmp_path / "again.svg"
    assert main(["hard", str(GALE), "-o", str(again)]) == 0
    assert again.read_bytes() == (tmp_path / "strip.svg").read_bytes()


def test_a_part_for_others_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    trio = scores() / "three-doors-trio.musicxml"
    assert main(["hard", str(trio)]) == 2
    assert "the score has several parts" in capsys.readouterr().err
