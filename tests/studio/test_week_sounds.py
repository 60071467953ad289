"""Sound files of a studio: made beside workbooks that ask for them, only what changed (slow tier)."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from excerpts.studio import Summary, build_studio
from excerpts.system.output import made_here
from tests.studio.small import studio, week

pytestmark = pytest.mark.slow


def _states(summary: Summary) -> list[str]:
    return [one.state for one in summary.outcomes]


def _with_sound(path: Path, box: str = "a") -> None:
    text = path.read_text(encoding="utf-8").replace("minutes = 20", "minutes = 20\nsound = true")
    path.write_text(text.replace('id = "a"', f'id = "{box}"\ntarget = "crotchet = 120"'), encoding="utf-8")


def test_a_studio_makes_the_sound_that_a_week_asks_for(tmp_path: Path) -> None:
    folder, cache = studio(tmp_path / "s", "Mila Fenn"), tmp_path / "cache"
    _with_sound(folder / "mila-11-30.toml")
    first = build_studio(folder, cache=cache, jobs=1)
    assert _states(first) == ["made"]
    sounds = folder / "mila-fenn-2026-11-30-sound"
    names = ["1-A-440.mp3", "2-a-crotchet-60.mp3", "3-a-crotchet-120.mp3"]
    assert sorted(path.name for path in sounds.iterdir()) == names
    assert "Slow Air: the sound is for this computer only" in "".join(first.outcomes[0].warnings)
    text = subprocess.run(
        ["pdftotext", "-layout", folder / "mila-fenn-2026-11-30.pdf", "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert "to hear: 2-a-crotchet-60, 3-a-crotchet-120" in " ".join(text.split())

    assert _states(build_studio(folder, cache=cache, jobs=1)) == ["unchanged"]
    lost = sounds / names[1]
    before = lost.read_bytes()
    lost.unlink()
    assert _states(build_studio(folder, cache=cache, jobs=1)) == ["made"]
    assert lost.read_bytes() == before


@pytest.mark.long
def test_files_of_ours_that_a_week_has_no_more_go_and_others_stay(tmp_path: Path) -> None:
    folder, cache = studio(tmp_path / "s", "Mila Fenn"), tmp_path / "cache"
    _with_sound(folder / "mila-11-30.toml")
    build_studio(folder, cache=cache, jobs=1)
    sounds = folder / "mila-fenn-2026-11-30-sound"
    (sounds / "grandma.mp3").write_bytes(b"hers")
    kept = (sounds / "1-A-440.mp3").stat().st_mtime_ns
    week(folder, "Mila Fenn", bars="4-5")
    _with_sound(folder / "mila-11-30.toml", box="b")
    build_studio(folder, cache=cache, jobs=1)
    names = ["1-A-440.mp3", "2-b-crotchet-60.mp3", "3-b-crotchet-120.mp3", "grandma.mp3"]
    assert sorted(path.name for path in sounds.iterdir()) == names
    assert (sounds / "1-A-440.mp3").stat().st_mtime_ns == kept  # not written again
    assert made_here(sounds / names[1])


def test_a_box_without_notes_has_a_workbook_and_no_sound(tmp_path: Path) -> None:
    folder = studio(tmp_path / "s", "Mila Fenn")
    (folder / "scores" / "air.musicxml").write_bytes(
        (folder / "scores" / "air.musicxml")
        .read_bytes()
        .replace(b"<pitch><step>C</step><alter>1</alter><octave>5</octave></pitch>", b"<rest/>")
    )
    _with_sound(folder / "mila-11-30.toml")
    path = folder / "mila-11-30.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('bars = "2-3"', 'bars = "2:1"'), encoding="utf-8"
    )
    summary = build_studio(folder, jobs=1)
    assert _states(summary) == ["made"]
    assert "no sound files: " in "".join(summary.outcomes[0].warnings)
    assert 'there is no note to play in "a"' in "".join(summary.outcomes[0].warnings)
