"""Tones as they come out, measured: tuning, starts and ends, what lies between the partials (default tier)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from excerpts.musicxml.pitch import Pitch
from excerpts.sound.filters import loudness
from excerpts.sound.perform import perform
from excerpts.sound.performance import Struck
from excerpts.sound.playback import Playback
from excerpts.sound.recording import dry
from excerpts.sound.tone import bowed, click, drone
from tests.sound.hearing import RATE, Sound, cents, frequency, level, lufs, note, take
from tests.sound.test_performance import AT_60, cut

F = Fraction
PLAIN = Playback()


def heard(*notes: Struck, length: int, playback: Playback = PLAIN, quarters: int = 60) -> Sound:
    """The dry signal of notes."""
    made = take(*notes, length=length, quarters=quarters)
    return dry(made, playback, F(0), F(length)).astype(np.float64)


@pytest.mark.parametrize("a", [390, 415, 440, 442, 470])
@pytest.mark.parametrize("pitch", [28, 43, 55, 69, 84, 100])
def test_a_note_is_in_tune(pitch: int, a: int) -> None:
    """ISO 16: A4 is 440 hertz; 440 * 2^((n - 69) / 12). The lowest are measured at their fourth partial."""
    partial = 4 if pitch < 50 else 1
    wanted = a * 2 ** ((pitch - 69) / 12)
    sound = heard(note(0, 2, pitch), length=2, playback=Playback(a=a))
    assert cents(frequency(sound[4000:84000], wanted * partial) / partial, wanted) == pytest.approx(
        0, abs=0.1
    )


def test_a_plucked_note_is_in_tune_and_dies_away() -> None:
    sound = heard(note(0, 2, 62, kind="plucked"), length=2)
    wanted = 440 * 2 ** (-7 / 12)
    assert cents(frequency(sound[2000:60000], wanted), wanted) == pytest.approx(0, abs=0.5)
    early, later = level(sound, 0.05, 0.15), level(sound, 0.8, 0.9)
    assert early - later > 12


@pytest.mark.parametrize(
    ("pitch", "ratio"),
    [
        (62, (1, 1)),
        (64, (9, 8)),
        (66, (5, 4)),
        (67, (4, 3)),
        (69, (3, 2)),
        (71, (5, 3)),
        (73, (15, 8)),
        (74, (2, 1)),
        (50, (1, 2)),
    ],
)
def test_pure_intervals_over_a_drone(pitch: int, ratio: tuple[int, int]) -> None:
    """Small ratios over D; the drone itself stands where equal temperament has it."""
    playback = Playback(drone=Pitch("D", 4), intonation="pure")
    wanted = 440 * 2 ** (-7 / 12) * ratio[0] / ratio[1]
    sound = heard(note(0, 2, pitch), length=2, playback=playback)
    assert cents(frequency(sound[4000:84000], wanted), wanted) == pytest.approx(0, abs=0.1)


def test_notes_begin_and_end_in_silence_and_without_a_jump() -> None:
    for wave in (bowed(440.0, 0.4, np.ones(1, np.float32)), drone(220.0, 0, 2 * RATE, 2 * RATE)):
        assert abs(wave[0]) < 1e-3
        assert abs(wave[-1]) < 1e-3
        middle = np.max(np.abs(np.diff(wave[len(wave) // 3 : len(wave) // 2])))
        assert np.max(np.abs(np.diff(wave))) <= middle * 1.1


def test_a_note_is_there_within_fifteen_milliseconds() -> None:
    sound = heard(note(1, 1, 69), length=2)
    loud = np.sqrt(np.convolve(sound**2, np.ones(200) / 200, mode="same"))
    reached = np.flatnonzero(loud > 0.5 * np.median(loud[int(1.2 * RATE) : int(1.8 * RATE)]))[0]
    assert 0 <= reached / RATE - 1 < 0.015


def test_almost_nothing_sounds_between_the_partials() -> None:
    wave = bowed(220.0, 3.0, np.ones(1, np.float32)).astype(np.float64)[RATE : 2 * RATE]
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave)))) ** 2
    off = np.abs((np.arange(len(spectrum)) + 110) % 220 - 110) > 20
    assert 10 * np.log10(spectrum[off].sum() / spectrum.sum()) < -72


@pytest.mark.parametrize("pitch", [28, 36])
def test_the_lowest_strings_are_heard_on_a_telephone(pitch: int) -> None:
    """What lies above 250 hertz is at most 6 decibels below the whole."""
    sound = heard(note(0, 2, pitch), length=2)[4000:84000]
    spectrum = np.abs(np.fft.rfft(sound)) ** 2
    high = spectrum[np.fft.rfftfreq(len(sound), 1 / RATE) > 250].sum()
    assert 10 * np.log10(high / spectrum.sum()) > -6


def test_staccato_sounds_half_and_slurred_notes_are_joined() -> None:
    """Repeated quavers at 96: separate ones dip by more than 12 decibels, slurred ones by less than 6."""

    def dip(articulation: str, length: Fraction) -> float:
        notes = (note(F(n, 2), length, 69 + n % 2, articulation=articulation) for n in range(4))
        sound = heard(*notes, length=2, quarters=96)
        beat = 60 / 96 / 2
        places = [level(sound, beat * n - 0.012, beat * n + 0.012) for n in (1, 2, 3)]
        return level(sound, beat * 0.3, beat * 0.4) - min(places)

    assert dip("separate", F(9, 20)) > 9
    assert dip("slurred", F(1, 2)) < 6
    staccato = heard(note(0, F(1, 2), 69, articulation="staccato"), length=1)
    assert level(staccato, 0.1, 0.45) - level(staccato, 0.6, 0.9) > 60


def test_a_hairpin_is_straight_in_decibels() -> None:
    sound = heard(note(0, 4, 69, levels=((F(0), -8.0), (F(4), 4.0))), length=4)
    measured = [level(sound, at - 0.1, at + 0.1) for at in (1, 2, 3)]
    assert np.diff(measured) == pytest.approx([3, 3], abs=0.1)


def test_a_trill_alternates_in_the_signal() -> None:
    """D and E in turns, twelve a second, as the strength of their lowest partials tells."""
    performance = perform(cut("D4:2[<notations><ornaments><trill-mark/></ornaments></notations>] E4:2"))
    made = performance.at(AT_60)
    sound = dry(made, PLAIN, F(0), F(2)).astype(np.float64)
    turns = [one for one in made.notes if one.onset < 2][:-1]
    assert len(turns) > 20

    def strength(piece: Sound, pitch: int) -> float:
        turn = np.exp(-2j * np.pi * 440 * 2 ** ((pitch - 69) / 12) * np.arange(len(piece)) / RATE)
        return float(abs(np.sum(piece * turn * np.hanning(len(piece)))))

    for one in turns:
        start = round(float(one.onset) * RATE) + 900
        piece = sound[start : start + round(float(one.length) * RATE) - 900]
        assert (strength(piece, 62) > 2 * strength(piece, 64)) == (one.pitch == 62)


def test_our_loudness_is_that_of_another_reader() -> None:
    """Pyloudnorm is an implementation of ITU-R BS.1770-4 by others."""
    quiet = heard(note(0, 2, 50), note(2, 2, 76, levels=((F(0), -6.0),)), note(6, 2, 69), length=8)
    assert loudness([quiet.astype(np.float32)]) == pytest.approx(lufs(quiet), abs=0.1)


def test_a_click_begins_at_once_and_is_over_soon() -> None:
    for strong in (True, False):
        wave = click(strong)
        assert np.flatnonzero(np.abs(wave) > 0.5)[0] < RATE / 1000
        assert len(wave) / RATE < 0.05
