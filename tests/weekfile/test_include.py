"""A set of boxes that several players share."""

from pathlib import Path

import pytest

from excerpts.errors import InputError
from excerpts.week import load_week, week_faults
from excerpts.week.orders.check import check_week_music
from tests.music import bars_of
from tests.week.weeks import HEAD

SECTION = """\
[[piece]]
id = "overture"
title = "Overture"
score = "overture.musicxml"

[[box]]
id = "fugato"
piece = "overture"
bars = "2-3"
clean = 4

[[box]]
id = "coda"
piece = "overture"
bars = "4"
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio with a set for a section, its score beside it, and a player's folder."""
    (tmp_path / "studio.toml").write_text("format = 1\n")
    (tmp_path / "orchestra").mkdir()
    (tmp_path / "orchestra" / "section-2.toml").write_text(SECTION)
    (tmp_path / "orchestra" / "overture.musicxml").write_bytes(bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 4))
    (tmp_path / "ada").mkdir()
    return tmp_path


def _week(studio: Path, more: str = "", include: str = '"orchestra/section-2.toml"') -> Path:
    path = studio / "ada" / "week.toml"
    head = HEAD.replace("format = 1\n", f"format = 1\ninclude = {include}\n")
    path.write_text(head + more)
    return path


def test_a_set_of_boxes_is_shared(studio: Path) -> None:
    more = '[[piece]]\nid = "air"\ntitle = "Air"\n[[box]]\nid = "own"\npiece = "air"\nplace = "bar 2"\n'
    week = load_week(_week(studio, more))
    assert [box.id for box in week.boxes] == ["own", "fugato", "coda"]
    assert week.score_paths["overture"] == studio / "orchestra" / "overture.musicxml"
    assert week.included_boxes == dict.fromkeys(["fugato", "coda"], studio / "orchestra" / "section-2.toml")
    assert check_week_music(week).faults == ()


def test_the_players_own_goes_before_the_set(studio: Path) -> None:
    """A player's own box of the same id, and a box that this player has retired already."""
    own = '[[box]]\nid = "fugato"\npiece = "overture"\nbars = "2"\n'
    retired = '[[retired]]\nid = "coda"\npiece = "overture"\nbars = "4"\nretired = 2026-11-29\n'
    week = load_week(_week(studio, own + retired))
    assert [(box.id, box.bars) for box in week.boxes] == [("fugato", "2")]


def test_faults_name_the_file_they_stand_in(studio: Path) -> None:
    shared = studio / "orchestra" / "section-2.toml"
    shared.write_text(SECTION.replace("clean = 4", "clean = 0").replace('"4"', '"40"'))
    path = _week(studio, '[[piece]]\nid = "x"\ntitel = "X"\n')
    assert [(fault.file.name, fault.line) for fault in week_faults(path)] == [
        ("week.toml", 10),
        ("week.toml", 12),
        ("section-2.toml", 10),
    ]
    with pytest.raises(InputError, match=r"week.toml, line 12.*\n.*section-2.toml, line 10, box \"fugato\""):
        load_week(path)
    shared.write_text(SECTION.replace('"4"', '"40"'))
    (fault,) = check_week_music(load_week(_week(studio))).faults
    assert (fault.file.name, fault.line) == ("section-2.toml", 15)
    assert "no bar 40" in fault.message


@pytest.mark.parametrize(
    ("include", "message"),
    [
        ('"gone.toml"', 'There is no file "gone.toml"'),
        ('"../../other.toml"', "lies outside the folder"),
        ('["orchestra/section-2.toml", "orchestra/section-2.toml"]', 'Two boxes have the id "coda"'),
        ("3", "A list was expected"),
        ('"ada/week.toml"', '"player" belongs in the week file'),
    ],
)
def test_bad_includes(studio: Path, include: str, message: str) -> None:
    (studio.parent / "other.toml").write_text(SECTION)
    faults = week_faults(_week(studio, include=include))
    assert any(message in fault.message for fault in faults), faults
