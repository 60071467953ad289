"""A box from paper in the week: plan, next week, studio, annotated pages, sound."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from PIL import Image

from excerpts.cli import main
from excerpts.studio.worker import inputs
from excerpts.weekfile.read_week import read_week
from tests.paper.test_cut import WEEK, choral
from tests.pdf_text import text_of


def week_in(folder: Path, text: str = WEEK) -> Path:
    (folder / "choral.pdf").write_bytes(choral())
    (folder / "ada.toml").write_text(text, encoding="utf-8")
    return folder / "ada.toml"


def ran(*arguments: object) -> int:
    return main([str(one) for one in arguments])


def test_the_plan_is_that_of_a_box_in_a_printed_part(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """How long the music is nobody knows of either."""
    plans = []
    music = 'bars = "5-6"\npage = 1\narea = [2, 70, 97, 130]\n'
    for text in (WEEK, WEEK.replace(music, 'place = "bars 5-6"\n')):
        assert ran("plan", week_in(tmp_path, text), "--json") == 0
        plans.append(json.loads(capsys.readouterr().out))
    assert plans[0] == plans[1]


def test_next_week_keeps_the_area_and_the_log_takes_the_box(tmp_path: Path) -> None:
    week = week_in(tmp_path)
    assert ran("log", week, "--box", "a", "--tempo", "60", "--clean", "5") == 0
    assert ran("next", week, "-o", tmp_path / "next.toml") == 0
    text = (tmp_path / "next.toml").read_text(encoding="utf-8")
    assert "area = [2, 70, 97, 130]" in text
    assert 'pages = "choral.pdf"' in text
    assert ran("check", tmp_path / "next.toml") == 0


def test_a_studio_builds_anew_when_a_page_changes_or_comes_in_between(tmp_path: Path) -> None:
    week = week_in(tmp_path, WEEK.replace("choral.pdf", "scans"))
    (tmp_path / "scans").mkdir()
    Image.new("L", (100, 140), 255).save(tmp_path / "scans" / "1.png")
    first = inputs(read_week(week))
    assert str((tmp_path / "scans" / "1.png").resolve()) in first
    Image.new("L", (100, 140), 255).save(tmp_path / "scans" / "0.png")
    again = inputs(read_week(week))
    assert again[str((tmp_path / "scans").resolve())] != first[str((tmp_path / "scans").resolve())]


@pytest.mark.slow
def test_annotate_draws_the_boxes_on_the_pages(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    week = week_in(tmp_path)
    assert ran("annotate", week, "-o", tmp_path / "a.pdf") == 0
    assert "S." in text_of((tmp_path / "a.pdf").read_bytes())
    assert ran("annotate", week, "-o", tmp_path / "a.svg") == 2
    assert "as .pdf only" in capsys.readouterr().err


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["booklet", "phone", "large"])
def test_every_edition_prints_the_box(tmp_path: Path, paper: str) -> None:
    target = tmp_path / "a.pdf"
    assert ran("workbook", week_in(tmp_path), "-o", target, "--paper", paper) == 0
    assert "S." in text_of(target.read_bytes())  # the names of the voices stand on the page that was cut


@pytest.mark.slow
def test_sound_and_fingering_say_that_they_need_notes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    week = week_in(tmp_path, WEEK + '[[warmup]]\nkey = "D"\n')
    assert ran("fingering", week, "a") == 2
    assert "whose notes fingering needs" in capsys.readouterr().err
    assert ran("sound", week, "-o", tmp_path / "sound", "--as", "mp3") == 0
    assert 'the box "a" is cut from a page, and sound needs notes' in capsys.readouterr().err


AREA = 'bars = "5-6"\npage = 1\narea = [2, 70, 97, 130]\n'
NUMBERED = 'first_bars = {1 = [0, 5, 10]}\nmetre = "4/4"\n'
WAYS = {
    "area": (AREA, ""),
    "systems": ('bars = "6-8"\npage = 1\nsystems = ["2: 1-4"]\n', ""),
    "first_bars": ('bars = "4-6"\n', NUMBERED),
}


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
def test_all_of_a_week_goes_on_with_a_box_by(
    tmp_path: Path, way: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Log, next week, its studio, lesson sheet, marked pages, booklet, phone, large print, slips, `--new`."""
    box, piece = WAYS[way]
    text = WEEK.replace(AREA, box).replace('pages = "choral.pdf"\n', f'pages = "choral.pdf"\n{piece}')
    text = text.replace('id = "choral"\n', 'id = "choral"\nstatus = "performance"\ndate = 2026-12-06\n', 1)
    other = (
        text[text.index("[[piece]]") : text.index("[[box]]")]
        .replace("choral", "air")
        .replace("Choral", "Air")
    )
    text += re.sub("(pages|first_bars|metre) = .*\n", "", other)  # two pieces are drawn from
    week = week_in(tmp_path, text)
    bars = box.split('"')[1].replace("-", "–")
    assert ran("check", week) == 0
    assert str((tmp_path / "choral.pdf").resolve()) in inputs(read_week(week))
    assert ran("log", week, "--box", "a", "--tempo", "60", "--clean", "5") == 0
    for command, target in (("lesson", "lesson.pdf"), ("annotate", "parts.pdf"), ("workbook", "week.pdf")):
        assert ran(command, week, "-o", tmp_path / target) == 0
    capsys.readouterr()
    assert f"Choral, bars {bars}" in text_of(tmp_path / "lesson.pdf")
    assert "S." in text_of(tmp_path / "parts.pdf")  # the page itself
    printed = text_of(tmp_path / "week.pdf")
    assert f"Choral, bars {bars}" in printed
    assert "Fold the slips" in " ".join(printed.split())
    for paper in ("booklet", "phone", "large"):
        assert ran("workbook", week, "-o", tmp_path / f"{paper}.pdf", "--paper", paper) == 0
        assert f"Choral, bars {bars}" in " ".join(text_of(tmp_path / f"{paper}.pdf").split())
    assert ran("next", week, "-o", tmp_path / "next.toml") == 0
    following = (tmp_path / "next.toml").read_text(encoding="utf-8")
    assert all(line in following for line in (box + piece).splitlines())
    assert ran("check", tmp_path / "next.toml") == 0
    assert ran("workbook", tmp_path / "next.toml", "--new", "-o", tmp_path / "new.pdf") == 0
    assert "The bars are in the workbook of 30 November" in " ".join(text_of(tmp_path / "new.pdf").split())
