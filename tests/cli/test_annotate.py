"""`excerpts annotate`: the whole part with its boxes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.engrave import Style, engrave
from excerpts.score import open_score
from excerpts.system.resources import scores
from excerpts.week import load_week
from excerpts.workbook.annotated import annotate, annotate_week
from tests.music import bars_of
from tests.pdf_text import text_of

GALE = scores() / "gale-concerto-1.musicxml"
NOOR = scores() / "weeks" / "noor-week-49.toml"


def test_boxes_stand_round_their_bars_in_the_order_of_the_part() -> None:
    part = open_score(GALE).part(None)
    boxed = annotate(part, ["33-34", "15:3-16:2"])
    assert boxed.labels == ("2", "1")
    assert len(boxed.excerpt.bars) == len(part.bars)
    music = engrave(boxed.excerpt, Style(grey_context=False), boxed.labels)
    found = {place.label: system for system in music.systems for place in system.boxes if place.label}
    assert set(found) == {"1", "2"}
    for system in music.systems:
        for place in system.boxes:
            inside = {
                system_bar.label
                for system_bar in system.bars
                if place.rect.left - 0.1 < (system_bar.left + system_bar.right) / 2 < place.rect.right + 0.1
            }
            wanted = {"33", "34"} if place.box == 1 else {"15", "16"}
            assert inside <= wanted


def test_a_week_gives_its_numbers() -> None:
    week = load_week(NOOR)
    found = annotate_week(week)
    assert [(piece.id, boxed.labels) for piece, boxed in found] == [
        ("allegro", ("2", "1")),
        ("adagio", ("3",)),
        ("trio", ("4",)),
    ]


@pytest.mark.parametrize("suffix", [".pdf", ".svg"])
def test_it_writes_pages_and_pictures(tmp_path: Path, suffix: str) -> None:
    output = tmp_path / f"part{suffix}"
    assert main(["annotate", str(GALE), "33-34", "-o", str(output)]) == 0
    assert output.stat().st_size > 10_000


@pytest.mark.slow
def test_a_week_is_printed_in_its_words(tmp_path: Path) -> None:
    output = tmp_path / "week.pdf"
    assert main(["annotate", str(NOOR), "-o", str(output)]) == 0
    text = text_of(output)
    for title in ("Gale Concerto I", "Gale Concerto II", "Three Doors"):
        assert title in text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([str(GALE)], "no bars are given"),
        ([str(GALE), "99-100"], "99"),
        ([str(NOOR), "33-34"], "already says which bars"),
        (["empty.toml"], "none of its pieces"),
        ([str(GALE), "33-34", "--paper", "booklet"], "none of a4, letter, phone"),
        ([str(GALE), "33-34", "--words", "fr"], "none of uk, us"),
    ],
)
def test_what_is_wrong_is_told(
    arguments: list[str],
    said: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("empty.toml").write_text(
        'format = 1\n[player]\nname = "A"\ninstrument = "violin"\nlevel = "middle"\n'
        '[week]\nstart = 2026-11-30\nminutes = { every = 20 }\n[[warmup]]\nkey = "D"\n',
        encoding="utf-8",
    )
    assert main(["annotate", *arguments, "-o", "x.pdf"]) == 2
    assert said in capsys.readouterr().err
    assert not Path("x.pdf").exists()


def test_a_file_of_the_users_is_left_alone(tmp_path: Path) -> None:
    mine = tmp_path / "mine.pdf"
    shutil.copy(GALE, mine)
    assert main(["annotate", str(GALE), "33-34", "-o", str(mine)]) == 2


def test_the_marks_that_made_the_boxes_of_a_week_are_not_printed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    box = "<direction><direction-type><words enclosure='rectangle'>{}</words></direction-type></direction>"
    (tmp_path / "air.musicxml").write_bytes(
        bars_of("C5:4", f"{box.format('shift')} C5:4", f"{box.format('pizz.')} C5:4")
    )
    week_file = tmp_path / "week.toml"
    week_file.write_text(
        "format = 1\n[player]\nname = 'A'\ninstrument = 'violin'\nlevel = 'middle'\n"
        "[week]\nstart = 2026-11-30\nminutes = { every = 20 }\n"
        "[[piece]]\nid = 'air'\ntitle = 'Air'\nscore = 'air.musicxml'\nmarked = true\n"
    )
    ((_, boxed),) = annotate_week(load_week(week_file))
    assert [words.text for words in boxed.excerpt.tree().iter("words")] == ["pizz."]
    assert "dropped words in bar 2: made a box" in [str(line) for line in boxed.excerpt.report]
    by_address = annotate(open_score(tmp_path / "air.musicxml").part(), ["2"])
    assert [words.text for words in by_address.excerpt.tree().iter("words")] == ["shift", "pizz."]
    output = tmp_path / "week.svg"
    for command in (["check", str(week_file)], ["annotate", str(week_file), "-o", str(output)]):
        assert main(command) == 0
        assert 'air.musicxml, bar 3: "pizz." in a rectangle names no passage' in capsys.readouterr().err
