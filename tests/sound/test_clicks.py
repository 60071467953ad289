"""MIDI at a tempo step: a bar to count in, clicks, exact lengths; read back by mido (default tier)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.excerpt import Excerpt, Tempo
from excerpts.sound.midi import microseconds, write_midi
from excerpts.variants import tempo_steps, vary
from tests.sound.test_midi import read, tempos
from tests.variants.music import passage

F = Fraction


def tracks(data: bytes) -> list[list[tuple[Fraction, int]]]:
    """Onset in quarter notes and number of each note, track by track; the first has none."""
    file = read(data)
    found: list[list[tuple[Fraction, int]]] = []
    for track in file.tracks:
        time, notes = 0, []
        for message in track:
            time += message.time
            if message.type == "note_on" and message.velocity:
                notes.append((F(time, file.ticks_per_beat), message.note))
        found.append(notes)
    return found


def test_a_bar_of_clicks_comes_first() -> None:
    """General MIDI 1: 76 is the high wood block, 77 the low one, on channel 10."""
    data = write_midi(passage("3/4", "C4/1 D4 E4", "F4/3"), count_in=1)
    _, notes, clicks = tracks(data)
    assert notes == [(F(3), 60), (F(4), 62), (F(5), 64), (F(6), 65)]
    assert clicks == [(F(0), 76), (F(1), 77), (F(2), 77)]
    channels = {message.channel for message in read(data).tracks[2] if message.type == "note_on"}
    assert channels == {9}


def test_the_clicks_go_on_if_asked() -> None:
    _, notes, clicks = tracks(write_midi(passage("2/4", "C4/1 D4", "E4/2"), count_in=1, click="every"))
    assert notes[0] == (F(2), 60)
    assert clicks == [(F(n), 77 if n % 2 else 76) for n in range(6)]
    _, _, alone = tracks(write_midi(passage("2/4", "C4/1 D4"), click="every"))
    assert alone == [(F(0), 76), (F(1), 77)]


@pytest.mark.parametrize(
    ("time", "unit", "expected"),
    [
        ("6/8", None, [F(0), F(3, 2)]),
        ("6/8", F(3, 2), [F(0), F(3, 2)]),
        ("6/8", F(1, 2), [F(n, 2) for n in range(6)]),
        ("2/4", F(1, 2), [F(n, 2) for n in range(4)]),
        ("4/4", F(2), [F(0), F(2)]),
        ("3/4", F(2), [F(0), F(1), F(2)]),  # a minim does not go into three crotchets: its halves click
        ("3/4", F(3, 2), [F(0), F(3, 2)]),
        ("6/8", F(1), [F(0), F(1), F(2)]),
        ("4/4", F(3, 2), [F(n, 2) for n in range(8)]),  # thirds of the dotted crotchet
    ],
)
def test_it_clicks_the_beat_of_the_tempo(time: str, unit: Fraction | None, expected: list[Fraction]) -> None:
    length = F(3) if time in {"6/8", "3/4"} else F(int(time[0]))
    tempo = Tempo(F(60), unit) if unit is not None else None
    source = passage(time, f"C4/{length / 2} D4")
    *_, clicks = tracks(write_midi(source, tempo=tempo, count_in=1))
    assert [at for at, _ in clicks] == expected


def test_a_box_that_starts_late_in_its_bar_is_counted_in_to_its_place() -> None:
    """From beat 3 of a bar of four: a bar of clicks, then beats 1 and 2."""
    source = passage("4/4", "C4/1 D4 E4 F4", box=(0, 0), beats=(F(2), F(4)))
    _, notes, clicks = tracks(write_midi(source, count_in=1))
    assert notes == [(F(6), 64), (F(7), 65)]
    assert clicks == [(F(n), 77 if n % 4 else 76) for n in range(6)]


@pytest.mark.parametrize("start", [F(30), F(40), F(66)])
def test_every_step_is_exact(start: Fraction) -> None:
    """Standard MIDI Files 1.0: microseconds for a quarter note, rounded; nothing else changes from step to step."""
    source = passage("4/4", "C4/1/2 D4 E4 F4 (G4/1 A4)", "B4/2 C5", box=(0, 1))
    written: list[list[tuple[Fraction, int]]] | None = None
    steps = tempo_steps(start, 92)
    for tempo in steps:
        data = write_midi(source, tempo=tempo, count_in=1)
        assert tempos(data) == [(F(0), microseconds(tempo.quarters_per_minute))]
        seconds = 12 * round(60_000_000 / tempo.quarters_per_minute) / 1e6
        assert read(data).length == pytest.approx(seconds, abs=1e-6)
        notes = tracks(data)[1:2]
        assert written in (None, notes)
        written = notes
    assert steps[-1] == Tempo(F(92), F(1))


@pytest.mark.parametrize("number", [20, 30, 45, 55])
def test_slow_is_as_long_as_the_factor_says(number: int) -> None:
    """Quarter = 60 with a change to 90: at N to the minute everything lasts 60 / N as long."""
    mark = '<direction><direction-type><words>x</words></direction-type><sound tempo="{}"/></direction>'
    source = passage("2/4", "C4/1 D4", more=mark.format(60))
    later = source.xml.replace(b"<note><pitch><step>D", mark.format(90).encode() + b"<note><pitch><step>D", 1)
    changed = Excerpt(
        later, source.bars, source.boxes, source.open_ends, Tempo(F(60), F(1)), source.origin, source.report
    )
    slow = vary(changed, f"slow:{number}")
    assert [time for time, _ in tempos(write_midi(slow))] == [F(0), F(1)]
    factor = F(number, 60)
    expected = float(read(write_midi(changed)).length) / float(factor)
    assert read(write_midi(slow)).length == pytest.approx(expected, rel=1e-5)
    assert read(write_midi(changed, tempo=Tempo(F(number), F(1)))).length == pytest.approx(expected, rel=1e-5)
