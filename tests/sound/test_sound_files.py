"""Sound files: their course in seconds, loudness, tags, and the commands that write them (default and slow tiers)."""

from __future__ import annotations

import io
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from excerpts.cli import main
from excerpts.errors import InputError
from excerpts.excerpt import Excerpt, Tempo
from excerpts.musicxml.pitch import Pitch
from excerpts.score import open_score
from excerpts.score.whole import whole_passage
from excerpts.sound.perform import perform
from excerpts.sound.playback import Playback, course
from excerpts.sound.recording import TAIL, gain_of, record
from excerpts.sound.sound_file import KB_A_MINUTE, Tags, encode
from tests.music import bars_of, part, score
from tests.notes.sources import corpus
from tests.sound.hearing import RATE, Sound, cents, decoded, frequency, level, lufs, note, take, true_peak
from tests.sound.test_performance import AT_60, cut, said
from tests.variants.music import passage

F = Fraction
SUFFIXES = tuple(KB_A_MINUTE)


def clicks(excerpt: Excerpt, playback: Playback, tempo: Tempo = AT_60) -> list[Fraction]:
    performance = perform(excerpt)
    return [time for time, _ in course(performance, performance.at(tempo), tempo, playback).clicks]


def written(excerpt: Excerpt, playback: Playback, suffix: str = ".mp3", tempo: Tempo | None = None) -> bytes:
    return encode(record(perform(excerpt), playback, tempo).blocks(), suffix, Tags("A title"))


def test_a_count_in_goes_before_each_time() -> None:
    playback = Playback(click="every", count_in=1, times=2)
    assert clicks(cut("D4:1 E4:1 F#4:1 G4:1"), playback) == list(range(16))


@pytest.mark.parametrize(
    ("style", "expected"),
    [("every", range(12)), ("first", [0, 4, 8]), ("alternate-bars", [0, 1, 2, 3, 8, 9, 10, 11])],
)
def test_what_clicks(style: str, expected: list[int]) -> None:
    excerpt = cut(*["D4:1 E4:1 F#4:1 G4:1"] * 3)
    assert clicks(excerpt, Playback(click=style)) == list(expected)  # type: ignore[arg-type]


def test_two_bars_to_count_in_lead_to_the_beat_where_the_box_begins() -> None:
    excerpt = passage("4/4", "C4/1 D4 E4 F4", box=(0, 0), beats=(F(2), F(4)))
    assert clicks(excerpt, Playback(count_in=2)) == list(range(10))


def test_a_gap_is_as_long_as_what_was_heard_and_clicks() -> None:
    excerpt = cut(*["D4:1 E4:1 F#4:1 G4:1"] * 3)
    performance = perform(excerpt)
    plan = course(performance, performance.at(AT_60), AT_60, Playback(gap=2))
    assert [(*map(int, (span.at, span.start, span.end)), span.silent) for span in plan.spans] == [
        (0, 0, 8, False), (8, 0, 8, True), (16, 8, 12, False), (20, 8, 12, True),
    ]  # fmt: skip
    assert [time for time, _ in plan.clicks] == [*range(8, 16), *range(20, 24)]
    sound = decoded(written(excerpt, Playback(gap=2), ".wav", AT_60))
    assert level(sound, 1, 7) - level(sound, 9.3, 9.9) > 40


def barline(location: str, inside: str) -> str:
    return f'<barline location="{location}">{inside}</barline>'


FORWARD = barline("left", '<repeat direction="forward"/>')
BACK = barline("right", '<repeat direction="backward"/>')


def ending(number: str, bar: str, back: str = "") -> str:
    first = barline("left", f'<ending number="{number}" type="start"/>')
    return f"{first} {bar} " + barline("right", f'<ending number="{number}" type="stop"/>{back}')


@pytest.mark.parametrize(
    ("bars", "order"),
    [
        (["D4:4", f"E4:4 {BACK}", "F#4:4"], [1, 2, 1, 2, 3]),
        (["D4:4", f"{FORWARD} E4:4 {BACK}", f"F#4:4 {BACK}"], [1, 2, 2, 3, 3]),
        (
            ["D4:4", ending("1", "E4:4", '<repeat direction="backward"/>'), ending("2", "F#4:4"), "G4:4"],
            [1, 2, 1, 3, 4],
        ),
        (
            [
                "D4:4",
                ending("1, 2", "E4:4", '<repeat direction="backward" times="3"/>'),
                ending("3", "F#4:4"),
            ],
            [1, 2, 1, 2, 1, 3],
        ),
        (["D4:4", "E4:4"], [1, 2]),
    ],
)
def test_repeats_are_played_where_that_is_asked_for(bars: list[str], order: list[int]) -> None:
    performance = perform(cut(*bars))

    def played(playback: Playback) -> list[int]:
        spans = course(performance, performance.at(AT_60), AT_60, playback).spans
        return [int(bar // 4) + 1 for span in spans for bar in range(int(span.start), int(span.end), 4)]

    assert played(Playback(repeats=True)) == order
    assert played(Playback()) == sorted(set(order))
    sound = decoded(written(cut(*bars), Playback(repeats=True), ".wav", AT_60))
    pitches = {1: 62, 2: 64, 3: 66, 4: 67}
    for place, bar in enumerate(order):
        wanted = 440 * 2 ** ((pitches[bar] - 69) / 12)
        piece = sound[round((4 * place + 1) * RATE) : round((4 * place + 3) * RATE)]
        assert abs(cents(frequency(piece, wanted), wanted)) < 0.5


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_a_file_is_as_long_as_its_course_to_the_sample(suffix: str) -> None:
    excerpt = cut("D4:1 E4:1 F#4:1 G4:1")
    data = written(excerpt, Playback(count_in=1, times=3), suffix, Tempo(F(77)))
    expected = round(F(24 * 60, 77) * RATE) + round(TAIL * RATE)
    assert len(decoded(data)) == expected


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_tags_say_what_it_is_and_nothing_of_the_player(suffix: str) -> None:
    excerpt = cut("D4:4")
    tags = Tags("Fähre 3 ♩ = 60", "Evening Ferry", 3)
    data = encode(record(perform(excerpt), Playback()).blocks(), suffix, tags)
    read = soundfile.SoundFile(io.BytesIO(data)).copy_metadata()
    assert (read["title"], read["album"], read["tracknumber"]) == (tags.title, tags.album, "3")
    assert read["comment"] == "Made with Excerpts. For notes, rhythm and pitch; not for tone or bowing."


@pytest.mark.slow
@pytest.mark.parametrize(
    "bars",
    [
        ["D4:1 E4:1 F#4:1 G4:1", "A4:4"],
        ["D6:1/2 E6:1/2 F#6:1/2 G6:1/2 A6:2", "D4+A4:4"],
        [said("<dynamics><ff/></dynamics>") + " D4:2 E4:2", said("<dynamics><pp/></dynamics>") + " F#4:4"],
        [said("<words>pizz.</words>") + " D4:1/2 E4:1/2 F#4:1/2 G4:1/2 A4:2", "D4:4"],
    ],
)
def test_music_is_as_loud_as_all_files_or_its_peak_is_in_the_way(bars: list[str]) -> None:
    sound = decoded(written(cut(*bars), Playback(), tempo=AT_60))
    assert true_peak(sound) <= -3
    assert lufs(sound) == pytest.approx(-20, abs=0.5) or -4.5 < true_peak(sound)


def test_with_clicks_and_a_drone_nothing_is_too_loud() -> None:
    excerpt = cut("D4:1 E4:1 F#4:1 G4:1", "A4:4")
    sound = decoded(written(excerpt, Playback(click="every", count_in=1, drone=Pitch("D", 4)), tempo=AT_60))
    assert true_peak(sound) <= -3


def test_a_note_shorter_than_a_block_of_loudness_has_a_level() -> None:
    sound = decoded(written(cut("D4:1/2 r:7/2"), Playback(), tempo=Tempo(F(120))))
    assert -6 < true_peak(sound) <= -3


def test_the_same_music_gives_the_same_bytes() -> None:
    excerpt = cut("D4:1 E4:1 F#4:1 G4:1")
    assert written(excerpt, Playback()) == written(excerpt, Playback())


def test_a_part_left_out_or_softer() -> None:
    first = "<attributes><divisions>24</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    data = score(part([f"{first} A5:4"]), part([f"{first} D3:4"], part_id="P2"), names=("Violin", "Cello"))
    from excerpts.score import score_from_bytes

    whole = whole_passage(score_from_bytes(data, "duo"), "1").cut(0)

    def partials(playback: Playback) -> tuple[float, float]:
        sound = decoded(written(whole, playback, ".wav", AT_60))[RATE : 3 * RATE]
        spectrum = 20 * np.log10(np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) + 1e-9)
        return float(spectrum[round(880 * 2)]), float(spectrum[round(146.83 * 2)])

    both, without, softer = (
        partials(Playback()),
        partials(Playback(gains=((1, None),))),
        partials(Playback(gains=((1, -12.0),))),
    )
    assert without[0] - without[1] > 60
    assert (softer[0] - softer[1]) - (both[0] - both[1]) == pytest.approx(12, abs=0.5)


def test_a_whole_part_without_notes_is_refused() -> None:
    with pytest.raises(InputError, match="there is no note to play"):
        record(perform(cut("r:4")), Playback())


def test_an_hour_in_one_piece_is_refused() -> None:
    long = replace(cut("D4:4"), tempo=Tempo(F(1, 20)))
    with pytest.raises(InputError, match="these bars last 80 minutes"):
        record(perform(long), Playback())


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "run.musicxml").write_bytes(bars_of("D5:1 E5:1 F#5:1 G5:1", "A5:4", "r:4"))
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.slow
@pytest.mark.parametrize("suffix", SUFFIXES)
def test_cut_warmup_and_steps_write_sound(folder: Path, suffix: str) -> None:
    kind = suffix[1:]
    assert main(["cut", "run.musicxml", "1-2", "--drone", "--click", "first", "-o", f"a{suffix}"]) == 0
    assert (
        main(["warmup", "D", "--level", "first", "--drone=D", "--intonation", "pure", "-o", f"w{suffix}"])
        == 0
    )
    command = ["steps", "run.musicxml", "1", "--target", "crotchet = 80", "--start", "60", "--most", "2"]
    assert main([*command, "--as", kind, "-o", f"s{kind}"]) == 0
    names = sorted(path.name for path in (folder / f"s{kind}").iterdir())
    assert names == [f"1-crotchet-60{suffix}", f"2-crotchet-80{suffix}"]
    assert main([*command, "--as", kind, "-o", f"s{kind}"]) == 0  # what it made itself it writes again
    assert soundfile.SoundFile(folder / f"w{suffix}").title.endswith("pure over D")


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("cut run.musicxml 3 -o a.mp3", "there is no note to play in these bars"),
        ("cut run.musicxml 1 --drone Q -o a.mp3", "'Q' is no note for a drone"),
        ("cut run.musicxml 1 --drone D99 -o a.mp3", "D99 is no note for a drone. Choose one from A0 to C8"),
        ("cut run.musicxml 1 --intonation pure -o a.mp3", "pure intervals need a note to be pure over"),
        ("cut run.musicxml 1 --a 500 -o a.mp3", "--a takes a whole number from 390 to 470"),
        ("cut run.musicxml 1 --click -o a.pdf", "a .pdf file cannot be played as these options say"),
        ("cut run.musicxml 1 --times 2 -o a.mid", "a .mid file has --click and --count-in"),
        ("cut run.musicxml 1 --with Violin -o a.mp3", "does not say how loud"),
        ("cut run.musicxml 1 --without Flute -o a.mp3", "there is no part 'Flute'"),
        ("cut run.musicxml 1 --without Violin --part Violin -o a.mp3", "choose among all parts"),
        ("cut run.musicxml 1 --without Violin -o a.mp3", "there is no note to play"),
        ("cut run.musicxml 1 2 -o a.mp3", "holds one passage in one variant"),
        ("steps run.musicxml 1 --target crotchet=1 --as mp3 -o s", "1 beats a minute is not between"),
        ("steps run.musicxml 1 --target crotchet=1000 --as mp3 -o s", "1000 beats a minute is not between"),
    ],
)
def test_what_cannot_be_played_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str], line: str, message: str
) -> None:
    assert main(line.split()) == 2
    assert message in capsys.readouterr().err
    assert not (folder / "a.mp3").exists()


def test_a_missing_encoder_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise soundfile.LibsndfileError(0, "no such format: ")

    monkeypatch.setattr("soundfile.SoundFile", refuse)
    assert main(["cut", "run.musicxml", "1", "-o", "a.mp3"]) == 2
    assert "the sound library cannot write .mp3 files" in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == ["run.musicxml"]


def test_a_full_disk_leaves_no_half_file(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert main(["cut", "run.musicxml", "1", "-o", "a.mp3"]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert sorted(path.name for path in folder.iterdir()) == ["run.musicxml"]


def test_a_wave_file_that_is_too_big_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "slow.musicxml").write_bytes(
        bars_of(said("<words>x</words>", '<sound tempo="10"/>') + " D5:4", *["D5:4"] * 2)
    )
    assert main(["cut", "slow.musicxml", "1-3", "--times", "20", "-o", "a.wav"]) == 2
    assert "the file would last 24 minutes and have 127 MB" in capsys.readouterr().err


@pytest.mark.parametrize("suffix", [".musicxml", ".mxl", ".mid"])
def test_other_ways_out_load_nothing_for_sound(folder: Path, suffix: str) -> None:
    program = (
        "import sys; from excerpts.cli import main; "
        f"main(['cut', 'run.musicxml', '1', '-o', 'a{suffix}']); "
        "print([name for name in ('numpy', 'soundfile') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=folder, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "[]"


def test_steps_are_as_loud_as_each_other() -> None:
    performance = perform(cut("D4:1 E4:1 F#4:1 G4:1", "A4:2 D5:2"))
    gain = gain_of(performance, Playback(), Tempo(F(80)))
    found = [
        lufs(
            decoded(encode(record(performance, Playback(), Tempo(F(number)), gain).blocks(), ".wav", Tags()))
        )
        for number in (40, 60, 80)
    ]
    assert found == pytest.approx([-20] * 3, abs=0.5)


def onsets(sound: Sound, times: list[float]) -> list[float]:
    """Where the sound rises to half of a click's height near each time, in seconds."""
    found = []
    for time in times:
        start = round((time - 0.02) * RATE)
        piece = np.abs(sound[max(0, start) : start + round(0.04 * RATE)])
        found.append((max(0, start) + int(np.flatnonzero(piece > piece.max() / 2)[0])) / RATE)
    return found


@pytest.mark.slow
def test_clicks_of_five_minutes_stand_where_the_tempos_put_them() -> None:
    """Decoded from MP3, on a score that changes its tempo twice: within a millisecond of the sum of its beats."""
    tempo = [said("<words>x</words>", f'<sound tempo="{number}"/>') for number in (90, 66, 104)]
    bars = [f"{tempo[place // 36]} r:4" if place % 36 == 0 else "r:4" for place in range(108)]
    excerpt = cut(f"{tempo[0]} D4:1 r:3", *bars[1:])
    sound = decoded(written(excerpt, Playback(click="every")))
    beats = [60 / 90] * 144 + [60 / 66] * 144 + [60 / 104] * 144
    times = [float(sum(beats[:place])) for place in range(len(beats))]
    assert times[-1] > 300
    later = times[4:]  # the note sounds under the first bar
    worst = max(abs(a - b) for a, b in zip(onsets(sound, later), later, strict=True))
    assert worst <= 0.001


@pytest.mark.slow
def test_every_note_of_the_four_instruments_is_in_tune_in_an_mp3() -> None:
    """ISO 16, within half a cent, from the lowest E of the bass to the highest A of the violin."""
    pitches = range(28, 106)
    made = take(
        *(note(2 * place, 2, pitch) for place, pitch in enumerate(pitches)),
        length=2 * len(pitches),
        quarters=90,
    )
    from excerpts.sound.performance import Performance

    performance = Performance(made.notes, made.tempos, made.length, made.players)
    sound = decoded(encode(record(performance, Playback()).blocks(), ".mp3", Tags()))
    worst = 0.0
    for place, pitch in enumerate(pitches):
        partial = 4 if pitch < 50 else 1
        wanted = 440 * 2 ** ((pitch - 69) / 12)
        start = place * 4 / 3
        piece = sound[round((start + 0.15) * RATE) : round((start + 1.2) * RATE)]
        worst = max(worst, abs(cents(frequency(piece, wanted * partial) / partial, wanted)))
    assert worst <= 0.5


@pytest.mark.slow
@pytest.mark.parametrize(("address", "number"), [("1-16", 90), ("60-90", 60)])
def test_a_quartet_is_as_loud_as_all_files(address: str, number: int) -> None:
    """Mozart, K. 458 i: loudness by pyloudnorm on the decoded MP3."""
    path = corpus() / "mozart" / "k458" / "movement1.mxl"
    excerpt = whole_passage(open_score(path), address).cut(0)
    sound = decoded(written(excerpt, Playback(), tempo=Tempo(F(number), F(3, 2))))
    assert lufs(sound) == pytest.approx(-20, abs=0.5)
    assert true_peak(sound) <= -3
