"""`excerpts variants`: the list, and all that fit some bars in notes."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.cli import main
from excerpts.variants import title, variants
from excerpts.words import Words
from tests.music import FIRST, bars_of, part, score
from tests.pdf_text import text_of

RUN = " ".join(f"{name}5:1/4" for name in "C# D E F# G F# E D C# D E F# G A B A".split())


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run.musicxml").write_bytes(bars_of(*[RUN] * 2))
    chord = "C5:1 E5:1 G5:2"
    (tmp_path / "two.musicxml").write_bytes(
        score(part([f"{FIRST} {chord}"]), part([chord], part_id="P2"), names=("Violin", "Cello"))
    )
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_list_keeps_its_columns(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["variants"]) == 0
    lines = capsys.readouterr().out.split("\n\n")[0].splitlines()
    texts = [line for line in lines if line[24:]]
    assert len(texts) >= len(variants())
    for info in variants():
        (place,) = (i for i, line in enumerate(lines) if line.split(" ")[0] == info.usage)
        text = lines[place] if len(info.usage) < 24 else lines[place + 1]
        assert text[:24].strip() in {info.usage, ""}
        assert text[24:].startswith(title(info.name, Words("uk")) + ": ")


@pytest.mark.slow
def test_every_variant_of_a_box_is_printed_or_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["variants", "run.musicxml", "1:1-1:2", "-o", "all.pdf"]) == 0
    told = capsys.readouterr()
    assert told.out == "all.pdf\n"
    text = text_of(folder / "all.pdf")
    for info in variants():
        for example in info.examples:
            name = title(example, Words("uk"))
            refused = any(example in line.partition(": ")[0].split() for line in told.err.splitlines())
            refused |= any(f"{example}," in line.partition(": ")[0] for line in told.err.splitlines())
            shown = f"{name} {example} · " if example != "as-written" else f": {name}"
            assert (shown in text) != refused, example
    assert (
        "not stop-before-shift: no fingering, string number or position in bar 1 shows a change of position, "
        "and its notes ask for none." in told.err
    )


def test_without_a_file_those_that_fit_are_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["variants", "two.musicxml", "1", "--part", "Cello"]) == 0
    told = capsys.readouterr()
    assert "separate" in told.out.splitlines()
    assert "long-short" not in told.out.splitlines()
    assert "long-short, long-short+short: long-short needs a run of at least four equal notes" in told.err


def test_what_is_the_same_music_twice_is_listed_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Slurs begin at the beat: of groups of four semiquavers, three to a bow are three and one."""
    assert main(["variants", "run.musicxml", "1"]) == 0
    told = capsys.readouterr()
    assert "slur:3" in told.out.splitlines()
    assert "slur:3-1" not in told.out.splitlines()
    assert "not slur:3-1: it is the same as slur:3 here." in told.err


@pytest.mark.parametrize(
    ("command", "message"),
    [
        (["run.musicxml"], "give a score and its bars"),
        (["-o", "all.pdf"], "give a score and its bars"),
        (["run.musicxml", "1", "-o", "all.svg"], "does not write '.svg' files"),
        (["two.musicxml", "1"], "Cello"),
        (["run.musicxml", "7", "-o", "all.pdf"], "7"),
    ],
)
def test_what_cannot_be_made_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str], command: list[str], message: str
) -> None:
    assert main(["variants", *command]) == 2
    assert message in capsys.readouterr().err
    assert not list(folder.glob("all.*"))
