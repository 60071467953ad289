"""False claims as far as the engraver: drawn as they may be, or stopped in the child with the place told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest

from excerpts.engrave import Style, engrave
from excerpts.engrave import verovio_page as draw
from excerpts.errors import EngravingError
from excerpts.system.child import Child
from tests.hostile.bombs import BOMBS
from tests.hostile.running import MEGABYTES, SECONDS, run
from tests.log.weeks import HEAD
from tests.music import bars_of
from tests.score.cutting import cut

DRAWN: Final = (
    "nested 250 deep",
    "a rest of 50 million bars",
    "a bar repeat of 50 million bars",
    "a metre of a billion beats",
    "a billion staves",
    "a note on staff a billion",
    "divisions of 18 digits",
    "a note of 10^18 divisions",
    "a number of a million digits",
    "a tuplet of 10^18 in 1",
    "octave a billion",
    "a title of twenty million letters",
)
TOO_MUCH: Final = "a beat repeat in a bar of 50 million beats"


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=pytest.mark.long) if place % 4 else name for place, name in enumerate(DRAWN)],
)
def test_a_false_claim_is_drawn_and_played(name: str, tmp_path: Path) -> None:
    score = tmp_path / "bomb.musicxml"
    score.write_bytes(BOMBS[name][0]())
    for ending in ("svg", "mid"):
        ran = run(tmp_path, "cut", score, "@2", "-o", tmp_path / f"a.{ending}")
        assert ran.status == 0, ran.err[-500:]
        assert ran.seconds < SECONDS
        assert ran.megabytes < MEGABYTES
        assert 0 < (tmp_path / f"a.{ending}").stat().st_size < 1_000_000


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "said"),
    [
        (TOO_MUCH, "needed more than 500 MB of memory, or broke down"),
        pytest.param(
            "as much in a bar as is read, chords",
            "took more than 4 seconds and was stopped",
            marks=pytest.mark.long,
        ),
    ],
)
def test_what_the_engraver_cannot_hold_is_told_and_nothing_is_written(
    name: str, said: str, tmp_path: Path
) -> None:
    score = tmp_path / "bomb.musicxml"
    score.write_bytes(BOMBS[name][0]())
    ran = run(tmp_path, "cut", score, "@2", "-o", tmp_path / "a.svg")
    assert ran.status == 1
    assert ran.err == (
        f"excerpts: bomb.musicxml, bar @2: drawing this music {said}. "
        "Check whether something in these bars is wrong; try fewer bars.\n"
    )
    assert ran.seconds < SECONDS
    assert ran.megabytes < MEGABYTES
    assert not (tmp_path / "a.svg").exists()


@pytest.mark.slow
def test_one_such_box_in_a_week_file_stops_its_workbook_with_the_place(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_bytes(BOMBS[TOO_MUCH][0]())
    week = tmp_path / "ada.toml"
    box = '[[box]]\nid = "run"\npiece = "song"\nbars = "@2"\n'
    week.write_text(
        HEAD.replace('title = "Song"', 'title = "Song"\nscore = "a.musicxml"') + box, encoding="utf-8"
    )
    ran = run(tmp_path, "workbook", week, "-o", tmp_path / "a.pdf")
    assert ran.status in (1, 2)
    assert "a.musicxml, bar @2: drawing this music needed more than" in ran.err
    assert not (tmp_path / "a.pdf").exists()


@pytest.mark.parametrize(
    ("fate", "said"),
    [
        ("crash", "a.musicxml, bar 2: drawing this music needed more than 200 MB of memory, or broke down"),
        pytest.param(
            "spin",
            "a.musicxml, bar 2: drawing this music took more than 1 seconds and was stopped",
            marks=pytest.mark.slow,
        ),
    ],
)
def test_an_engraver_that_crashes_or_hangs(fate: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
    child = Child("tests.system.misbehaving", megabytes=200)
    monkeypatch.setattr(draw, "ENGRAVER", _Fated(child, fate))
    excerpt = cut(bars_of("C5:4", "D5:4"), "2")
    excerpt = replace(excerpt, origin=replace(excerpt.origin, score="a.musicxml"))
    with pytest.raises(EngravingError) as error:
        engrave(excerpt, Style())
    assert str(error.value).startswith(said)
    child.stop()


class _Fated:
    """An engraver whose child meets its fate whatever it is asked."""

    def __init__(self, child: Child, fate: str) -> None:
        self.child = child
        self.fate = fate

    def ask(self, *_parts: bytes, seconds: int) -> list[bytes]:
        assert 1 < seconds < SECONDS / 2
        return self.child.ask(self.fate.encode(), seconds=1)
