"""A box from paper in the week: plan, next week, studio, annotated pages, sound."""

from __future__ import annotations

import json
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
