"""`excerpts steps`: the tempos of a box, and a MIDI file at each (default tier)."""

from __future__ import annotations

import io
from pathlib import Path

import mido
import pytest

from excerpts.cli import main
from tests.music import bars_of


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run.musicxml").write_bytes(bars_of("C5:1 D5:1 E5:1 F5:1", "G5:4"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_steps_go_from_half_to_the_goal(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["steps", "run.musicxml", "1", "--target", "crotchet = 60", "--most", "4"]) == 0
    steps = capsys.readouterr().out.splitlines()
    assert steps[0] == "quaver = 60"
    assert steps[-1] == "crotchet = 60"
    assert len(steps) == 4
    assert (
        main(["steps", "run.musicxml", "1", "--target", "quarter = 120", "--half-and-full", "--words", "us"])
        == 0
    )
    assert capsys.readouterr().out.splitlines() == ["quarter note = 60", "quarter note = 120"]


def test_each_step_is_a_file_with_a_bar_of_clicks(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command = ["steps", "run.musicxml", "1", "--target", "crotchet = 80", "--start", "60", "--most", "3"]
    assert main([*command, "--variant", "separate", "--click", "-o", "steps"]) == 0
    names = sorted(path.name for path in (folder / "steps").iterdir())
    assert names == ["1-crotchet-60.mid", "2-crotchet-72.mid", "3-crotchet-80.mid"]
    assert capsys.readouterr().out.splitlines() == [f"steps/{name}" for name in names]
    lengths = []
    for name in names:
        file = mido.MidiFile(file=io.BytesIO((folder / "steps" / name).read_bytes()))
        lengths.append(round(file.length, 3))
        assert len([m for m in file.tracks[-1] if m.type == "note_on" and m.velocity]) == 8
    assert lengths == [8.0, round(8 * 60 / 72, 3), 6.0]
    assert main([*command, "-o", "steps"]) == 0


def listed(capsys: pytest.CaptureFixture[str], *options: str) -> list[str]:
    assert main(["steps", "run.musicxml", "1", *options]) == 0
    return capsys.readouterr().out.splitlines()


@pytest.mark.parametrize(
    ("target", "start", "first"),
    [
        ("crotchet = 92", "50", "crotchet = 50"),
        ("crotchet = 92", "crotchet = 50", "crotchet = 50"),
        ("crotchet = 92", "quaver = 72", "quaver = 72"),
        ("minim = 60", "crotchet = 72", "crotchet = 72"),
        ("dotted crotchet = 60", "quaver = 90", "quaver = 90"),
    ],
)
@pytest.mark.usefixtures("folder")
def test_a_start_is_said_as_a_tempo_or_as_a_number(
    capsys: pytest.CaptureFixture[str], target: str, start: str, first: str
) -> None:
    steps = listed(capsys, "--target", target, "--start", start)
    assert (steps[0], steps[-1]) == (first, target)


@pytest.mark.usefixtures("folder")
def test_half_of_a_goal_is_a_number_of_the_metronome(capsys: pytest.CaptureFixture[str]) -> None:
    assert listed(capsys, "--target", "crotchet = 93", "--half-and-full") == [
        "crotchet = 46",
        "crotchet = 93",
    ]
    steps = listed(capsys, "--target", "dotted crotchet = 50", "--half-and-full")
    assert steps == ["quaver = 72", "dotted crotchet = 50"]


@pytest.mark.parametrize(
    ("variant", "target", "clicks", "quarters", "seconds"),
    [
        ("as-written", "minim = 60", 2, 8, 4),
        ("as-written", "crotchet = 60", 4, 8, 8),
        ("doubled", "crotchet = 60", 2, 12, 6),  # two bars of two minims, as fast as four crotchets were
        ("slow:50", "crotchet = 60", 4, 8, 8),
    ],
)
def test_the_beat_of_the_goal_clicks_in_every_variant(
    folder: Path, variant: str, target: str, clicks: int, quarters: int, seconds: int
) -> None:
    command = ["steps", "run.musicxml", "1", "--target", target, "--half-and-full", "--variant", variant]
    assert main([*command, "-o", "steps"]) == 0
    file = mido.MidiFile(file=io.BytesIO(sorted((folder / "steps").iterdir())[-1].read_bytes()))
    counted_in = [m for m in file.tracks[-1] if m.type == "note_on" and m.velocity]
    assert len(counted_in) == clicks
    assert sum(m.time for m in file.tracks[1]) == quarters * file.ticks_per_beat
    assert file.length == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ([], 'the score gives no tempo here.*--target "crotchet = 92"'),
        (["--target", "fast"], '"fast" is not a tempo'),
        (["--target", "crotchet = 60", "--start", "70"], "no steps lead from 70 to 60"),
        (["--target", "crotchet = 60", "--variant", "burst:4", "-o", "steps"], "burst:4 needs a run"),
        (["--target", "crotchet = 60", "--variant", "nosuch"], "there is no variant 'nosuch'"),
        (["--target", "crotchet = 60", "--variant", "nosuch", "-o", "steps"], "there is no variant 'nosuch'"),
        (["--target", "crotchet = 60", "--variant", "burst:4"], "burst:4 needs a run"),
        (
            ["--target", "crotchet = 60", "--start", "40", "--half-and-full"],
            "--half-and-full begins at half the goal: leave out either --start",
        ),
        (["--target", "crotchet = 60", "--start", "fast = 40"], '"fast" is not the name of a note length'),
        (["--target", "crotchet = 60", "-o", "none/steps"], "there is no folder none"),
        (["--target", "crotchet = 60", "-o", "run.musicxml"], "that this program did not make"),
        (["--target", "crotchet = 60", "--words", "fr"], "'fr' is none of"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    import re

    assert main(["steps", "run.musicxml", "1", *options]) == 2
    assert re.search(message, capsys.readouterr().err, re.DOTALL)
    assert [path.name for path in folder.iterdir()] == ["run.musicxml"]
