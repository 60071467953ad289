"""The sound files of a week: their names, what they hold, what is told (default and slow tiers)."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import soundfile

from excerpts.cli import main
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.recordings.ear_exercises import open_strings, with_references
from excerpts.recordings.week_sound import WeekSound
from excerpts.sound.perform import perform
from excerpts.sound.playback import Playback
from excerpts.sound.recording import TAIL, record
from excerpts.sound.sound_file import Tags, encode
from excerpts.week import load_week
from excerpts.week.sound_files import sound_files
from tests.music import bars_of
from tests.sound.hearing import RATE, cents, decoded, frequency, lufs
from tests.sound.test_performance import AT_60, cut

F = Fraction

WEEK = """\
format = 1

[player]
name = "Ada Lindqvist"
instrument = "violin"
level = "middle"
age = 14

[week]
start = 2026-11-30
minutes = 30

[[piece]]
id = "run"
title = "Run in D"
score = "run.musicxml"

[[box]]
id = "first"
piece = "run"
bars = "1"
target = "crotchet = 120"
start = 80

[[box]]
id = "words"
piece = "run"
bars = "2"
goal = "in one breath"

[[box]]
id = "paper"
piece = "run"
place = "p. 3"

[[warmup]]
key = "D"
octaves = 1

[[warmup]]
key = "F#"
pattern = "chromatic"
octaves = 1

[[technique]]
text = "Thumb loose."
minutes = 3
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run.musicxml").write_bytes(bars_of("D5:1 E5:1 F#5:1 G5:1", "A5:4", "r:4"))
    (tmp_path / "week.toml").write_text(WEEK, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


NAMES = [
    "1-A-440", "2-d-scale", "3-f-sharp-chromatic", "4-first-crotchet-80", "5-first-crotchet-120", "6-words",
]  # fmt: skip


def test_names_follow_from_the_week_in_the_order_of_the_workbook(folder: Path) -> None:
    week = load_week(folder / "week.toml")
    assert [file.name for file in sound_files(week)] == NAMES
    every = [file.name for file in sound_files(week, "all", together=True, a=442)]
    assert every[0] == "01-A-442"
    assert every[3:] == [
        "04-first-crotchet-80", "05-first-crotchet-92", "06-first-crotchet-104", "07-first-crotchet-112",
        "08-first-crotchet-116", "09-first-crotchet-120", "10-first-all", "11-words",
    ]  # fmt: skip


@pytest.mark.slow
def test_the_files_of_a_week(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sound", "week.toml", "-o", "listen"]) == 0
    said = capsys.readouterr()
    assert [Path(line).stem for line in said.out.splitlines()[:-1]] == NAMES
    assert said.out.splitlines()[-1].startswith("6 files, ")
    assert "Run in D: the sound is for this computer only" in said.err
    files = sorted((folder / "listen").iterdir())
    assert [path.stem for path in files] == NAMES
    tags = [soundfile.SoundFile(path).copy_metadata() for path in files]
    assert [tag["tracknumber"] for tag in tags] == ["1", "2", "3", "4", "5", "6"]
    assert tags[0]["title"] == "E A D G (pure), A = 440"
    assert tags[1]["title"].endswith("equal over D")
    assert tags[3]["title"] == "1 Run in D, bar 1, crotchet = 80"
    assert tags[3]["album"] == "Run in D, bar 1"
    assert not any(b"Lindqvist" in path.read_bytes() for path in files)
    goal = decoded(files[4].read_bytes())
    assert len(goal) == round(3 * 8 * 0.5 * RATE) + round(
        TAIL * RATE
    )  # three times a bar of clicks and a bar


def test_a_piece_that_may_be_shared_is_not_told_of(folder: Path) -> None:
    for more, told in (("", True), ("\nshare = true", False)):
        text = WEEK.replace('score = "run.musicxml"', f'score = "run.musicxml"{more}')
        (folder / "week.toml").write_text(text, encoding="utf-8")
        week = load_week(folder / "week.toml")
        assert bool(WeekSound(week, sound_files(week), Playback()).not_to_share) == told


def test_trills_from_above_where_the_piece_says_so(folder: Path) -> None:
    trill = "D5:4[<notations><ornaments><trill-mark/></ornaments></notations>]"
    (folder / "run.musicxml").write_bytes(bars_of(trill, "A5:4"))
    for more, upper in (("", False), ('\ntrills = "upper"', True)):
        text = WEEK.replace('score = "run.musicxml"', f'score = "run.musicxml"{more}')
        (folder / "week.toml").write_text(text, encoding="utf-8")
        week = load_week(folder / "week.toml")
        files = sound_files(week)
        first = WeekSound(week, files, Playback())._performance(files[3]).notes[0]
        assert first.figure is not None
        assert first.figure.upper_first == upper


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--times", "20", "--steps", "all", "--all", "--as", "wav"],
            "MB of sound. Add --yes to make it all the same",
        ),
        (["--drone", "D"], "--drone, --without and --with are for single passages"),
        (["--without", "Violin"], "are for single passages"),
        (["--as", "ogg"], "'ogg' is none of mp3, flac, wav"),
        (["--steps", "some"], "'some' is none of ends, all"),
    ],
)
def test_what_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str], options: list[str], message: str
) -> None:
    assert main(["sound", "week.toml", "-o", "listen", *options]) == 2
    assert message in capsys.readouterr().err
    assert not (folder / "listen").exists()


def test_a_box_without_notes_is_told_before_anything_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "week.toml").write_text(WEEK.replace('bars = "2"', 'bars = "3"'), encoding="utf-8")
    assert main(["sound", "week.toml", "-o", "listen"]) == 2
    assert 'there is no note to play in "words"' in capsys.readouterr().err
    assert not (folder / "listen").exists()


def test_a_file_of_another_is_kept(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "listen").mkdir()
    (folder / "listen" / "2-d-scale.mp3").write_bytes(b"mine")
    assert main(["sound", "week.toml", "-o", "listen"]) == 2
    assert "there is already a file that this program did not make" in capsys.readouterr().err
    assert [path.name for path in (folder / "listen").iterdir()] == ["2-d-scale.mp3"]


@pytest.mark.parametrize(
    ("name", "ratios"),
    [
        ("violin", [F(1), F(2, 3), F(4, 9), F(3, 2)]),
        pytest.param("viola", [F(1), F(2, 3), F(4, 9), F(8, 27)], marks=pytest.mark.slow),
        pytest.param("cello", [F(1, 2), F(1, 3), F(2, 9), F(4, 27)], marks=pytest.mark.slow),
        ("bass", [F(1, 8), F(3, 32), F(1, 6), F(2, 9)]),
    ],
)
def test_open_strings_are_pure_from_a_in_an_mp3(name: str, ratios: list[Fraction]) -> None:
    """Fifths of 3:2, on the bass fourths of 4:3, counted from A4 = 440 hertz, within half a cent."""
    player = next(one for one in INSTRUMENTS.values() if name in one.name)
    performance = open_strings(player, "pure")
    sound = decoded(encode(record(performance, Playback()).blocks(), ".mp3", Tags()))
    for place, ratio in enumerate(ratios):
        wanted = float(440 * ratio)
        partial = 4 if wanted < 100 else 1
        piece = sound[round((9 * place + 1) * RATE) : round((9 * place + 7) * RATE)]
        assert cents(frequency(piece, wanted * partial) / partial, wanted) == pytest.approx(0, abs=0.5)
    assert lufs(sound) == pytest.approx(-20, abs=0.5)


def test_open_strings_beside_a_piano_are_equal() -> None:
    pitches = [note.pitch for note in open_strings(INSTRUMENTS["violin"], "equal").notes]
    assert pitches == [69, 62, 55, 76]


def test_long_notes_have_their_pitch_before_each() -> None:
    notes = with_references(perform(cut("D4:4", "E4:2 r:2"))).at(AT_60).notes
    assert [(int(note.onset), int(note.pitch)) for note in notes] == [(0, 62), (4, 62), (8, 64), (12, 64)]
