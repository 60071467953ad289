"""`excerpts warmup` and `excerpts variants`."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.engrave import Engraving, Style, engrave
from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from excerpts.workbook import sheet_blocks
from tests.pdf_text import page_texts
from tests.schema import schema_errors
from tests.workbook.audit import staff_heights


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_scale_as_music(here: Path) -> None:
    assert main(["warmup", "D", "--octaves", "1", "-o", "d.musicxml"]) == 0
    assert schema_errors((here / "d.musicxml").read_bytes()) == []
    steps = [note.findtext("pitch/step") for note in open_score("d.musicxml").root.iter("note")]
    assert "".join(step for step in steps if step) == "DEFGABCDCBAGFED"


@pytest.mark.parametrize("name", ["d.mxl", "d.svg", "d.pdf", "d.mid"])
def test_every_kind_of_file_may_be_made_again(here: Path, name: str) -> None:
    command = ["warmup", "D", "--instrument", "viola", "--variant", "long-short", "-o", name]
    assert main(command) == 0
    first = (here / name).read_bytes()
    assert main(command) == 0
    assert (here / name).read_bytes() == first


@pytest.mark.parametrize(
    ("command", "message"),
    [
        (["warmup", "H", "-o", "o.pdf"], "B"),
        (["warmup", "Q", "-o", "o.pdf"], "Q"),
        (["warmup", "G# major", "-o", "o.pdf"], "A-flat"),
        (["warmup", "D", "--octaves", "9", "-o", "o.pdf"], "octave"),
        (["warmup", "D", "--instrument", "trumpet", "-o", "o.pdf"], "violin, viola, cello"),
        (["warmup", "D", "--pattern", "zigzag", "-o", "o.pdf"], "scale"),
        (["warmup", "D", "--from", "C9", "-o", "o.pdf"], "C9"),
        (["warmup", "D", "A", "-o", "o.musicxml"], "holds one warm-up"),
        (
            ["warmup", "G", "--octaves", "3", "--slur", "8", "-o", "o.pdf"],
            "With the turn at the bottom: 2, 3",
        ),
        (["warmup", "G", "--turn", "--octaves", "2", "-o", "o.pdf"], "for three octaves"),
        (["warmup", "G", "--fingerings", "loud", "-o", "o.pdf"], "are not fingerings"),
        (["warmup", "G", "--tempo", "fast", "-o", "o.pdf"], "crotchet = 92"),
        (["warmup", "C", "--pattern", "octaves", "--instrument", "bass", "-o", "o.pdf"], "span 7 semitones"),
        (["warmup", "Cb", "--pattern", "chromatic", "-o", "o.pdf"], "The usual name is B"),
    ],
)
def test_what_cannot_be_made_is_said(
    here: Path, capsys: pytest.CaptureFixture[str], command: list[str], message: str
) -> None:
    assert main(command) == 2
    assert message in capsys.readouterr().err
    assert list(here.iterdir()) == []


def test_what_goes_beyond_the_level_is_made_and_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["B minor", "--instrument", "cello", "--level", "middle", "--octaves", "2"]
    assert main(["warmup", *asked, "-o", "b.musicxml"]) == 0
    assert "it goes up to B4, beyond the cello at level 'middle'" in capsys.readouterr().err


def test_a_warm_up_shows_no_bar_numbers(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It begins with its first bar, which nobody has to be told; so it is in a workbook."""
    styles: list[Style] = []

    def seen(excerpt: Excerpt, style: Style) -> Engraving:
        styles.append(style)
        return engrave(excerpt, style)

    monkeypatch.setattr(sheet_blocks, "engrave", seen)
    assert main(["warmup", "D", "-o", "d.pdf"]) == 0
    assert [style.bar_numbers for style in styles] == ["none"]


def test_the_variants_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["variants"]) == 0
    shown = capsys.readouterr().out
    for name in ("as-written", "slow", "separate", "long-short", "short-long"):
        assert f"\n{name}" in "\n" + shown


def test_manner_and_drone_go_into_the_files(here: Path) -> None:
    scale = ["warmup", "G", "--turn", "--slur", "8", "--tempo", "quarter = 50", "-o", "g.musicxml"]
    assert main(scale) == 0
    root = open_score("g.musicxml").root
    assert (root.findtext(".//per-minute"), len(list(root.iter("slur")))) == ("50", 12)
    assert main(["warmup", "D", "--pattern", "long-notes", "-o", "d.musicxml"]) == 0
    assert [part.name for part in open_score("d.musicxml").parts][1:] == ["Drone"]
    assert main(["warmup", "D", "--drone", "-o", "d.mid"]) == 0
    assert b"Drone" in (here / "d.mid").read_bytes()
    command = ["warmup", "D", "--level", "first", "--fingerings", "open", "--pattern", "tune", "-o", "d.pdf"]
    assert main(command) == 0


def test_slips_from_a_list(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (here / "scales.csv").write_text("key,octaves\nD,2\nBb,2\n")
    assert main(["warmup", "--list", "scales.csv", "-o", "slips.pdf"]) == 0
    assert (here / "slips.pdf").read_bytes().startswith(b"%PDF")
    for command, message in (
        (["warmup", "D", "--list", "scales.csv", "-o", "o.pdf"], "from a list only"),
        (["warmup", "-o", "o.pdf"], "there is no key"),
        (["warmup", "--list", "none.csv", "-o", "o.pdf"], "no such file"),
    ):
        assert main(command) == 2
        assert message in capsys.readouterr().err


def test_how_scales_are_played_is_said_once_on_a_sheet(tmp_path: Path) -> None:
    keys = ["D", "B minor", "Bb", "G minor", "E", "A", "C"]
    assert main(["warmup", *keys, "--octaves", "2", "--level", "middle", "-o", str(tmp_path / "x.pdf")]) == 0
    (text,) = page_texts(tmp_path / "x.pdf")
    assert text.count("Slowly, with a good sound") == 1
    assert text.count("two octaves") == len(keys)


@pytest.mark.parametrize(("level", "staff_mm"), [("first", 9.2), ("lower", 7.5)])
def test_a_beginner_s_scale_has_large_staves(level: str, staff_mm: float) -> None:
    """9.2 and 7.5 mm, engravers' sizes 0 and 2."""
    assert main(["warmup", "D", "--level", level, "--octaves", "1", "-o", "x.pdf"]) == 0
    heights = staff_heights(Path("x.pdf").read_bytes())
    assert heights == pytest.approx([staff_mm] * len(heights), abs=0.05)
    assert heights
