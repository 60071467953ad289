"""Key, metre and tempo at the first note of the box, where the bar before it stands in others."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.engrave import Style, engrave
from excerpts.excerpt import Excerpt, Tempo
from excerpts.notes.in_force import signs_at_box, tempo_at_box
from excerpts.score import score_from_bytes
from tests.music import bars_of
from tests.pdf_text import text_of


def _tempo(beat: str, number: int, quarters: int) -> str:
    return (
        f"<direction><direction-type><metronome><beat-unit>{beat}</beat-unit><per-minute>{number}</per-minute>"
        f'</metronome></direction-type><sound tempo="{quarters}"/></direction>'
    )


CHANGE = "<attributes><key><fifths>-3</fifths></key><time><beats>2</beats><beat-type>2</beat-type></time></attributes>"
MUSIC = bars_of(
    f"{_tempo('quarter', 60, 60)} A4:4",
    "A4:4",
    f"{CHANGE} {_tempo('half', 72, 144)} D5:2 {_tempo('quarter', 50, 50)} E5:2",
    "D5:4",
)


def cut(address: str, context: int = 1) -> Excerpt:
    return score_from_bytes(MUSIC, "x").part("#1").passage(address).cut(context)


@pytest.mark.parametrize(
    ("address", "fifths", "beats", "tempo"),
    [
        ("2", 2, "4", Tempo(Fraction(60))),
        ("3", -3, "2", Tempo(Fraction(72), Fraction(2))),
        ("3-4", -3, "2", Tempo(Fraction(72), Fraction(2))),
        ("3:2-4", -3, "2", Tempo(Fraction(50))),
        ("4", -3, "2", Tempo(Fraction(50))),
    ],
)
def test_signs_are_those_at_the_first_note_of_the_box(
    address: str, fifths: int, beats: str, tempo: Tempo
) -> None:
    excerpt = cut(address)
    spoken = engrave(excerpt, Style()).spoken
    assert (spoken.fifths, spoken.beats) == (fifths, beats)
    assert tempo_at_box(excerpt) == tempo
    assert tempo_at_box(cut(address, 0)) == tempo


def test_a_change_inside_the_box_is_not_told() -> None:
    excerpt = cut("2-3")
    signs = signs_at_box(excerpt, excerpt.tree())
    assert signs.key is not None
    assert signs.key.findtext("fifths") == "2"
    assert tempo_at_box(excerpt) == Tempo(Fraction(60))


def test_the_heading_of_a_cut_tells_them(tmp_path: Path) -> None:
    (tmp_path / "x.musicxml").write_bytes(MUSIC)
    out = tmp_path / "x.pdf"
    assert main(["cut", str(tmp_path / "x.musicxml"), "3", "-o", str(out)]) == 0
    assert "Violin · 2/2 · 3 flats · minim = 72" in text_of(out)


def test_the_goal_of_the_steps_is_the_tempo_of_the_box(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "x.musicxml").write_bytes(MUSIC)
    assert main(["steps", str(tmp_path / "x.musicxml"), "3"]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "minim = 72"
