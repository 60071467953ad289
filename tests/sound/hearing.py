"""Measures sound: frequency, level, loudness. By numpy's Fourier transform and pyloudnorm, not by our own code."""

from __future__ import annotations

import io
from fractions import Fraction

import numpy as np
import soundfile
from numpy.typing import NDArray

from excerpts.sound.levels import Levels
from excerpts.sound.performance import Kind, Player, Struck, Take, TempoMap

RATE = 44_100
Sound = NDArray[np.float64]


def decoded(data: bytes) -> Sound:
    """A sound file's samples; MP3 is read by mpg123, and was written by LAME."""
    samples, rate = soundfile.read(io.BytesIO(data))
    assert rate == RATE
    return np.asarray(samples, dtype=np.float64)


def frequency(sound: Sound, near: float) -> float:
    """The strongest frequency within a quarter-tone of one, in hertz.

    A Gaussian window makes the logarithm of the peak a parabola, so that three points of it tell its top.
    """
    place = np.arange(len(sound)) - len(sound) / 2
    spectrum = np.abs(np.fft.rfft(sound * np.exp(-0.5 * (place / (len(sound) / 8)) ** 2), 4 * len(sound)))
    bins = np.arange(len(spectrum)) * RATE / (4 * len(sound))
    inside = np.flatnonzero((bins > near * 2 ** (-1 / 24)) & (bins < near * 2 ** (1 / 24)))
    top = int(inside[np.argmax(spectrum[inside])])
    low, middle, high = np.log(spectrum[top - 1 : top + 2])
    return float((top + (low - high) / (2 * (low - 2 * middle + high))) * RATE / (4 * len(sound)))


def cents(found: float, wanted: float) -> float:
    return float(1200 * np.log2(found / wanted))


def level(sound: Sound, start: float, end: float) -> float:
    """Decibels of the mean square between two times in seconds."""
    piece = sound[round(start * RATE) : round(end * RATE)]
    return float(10 * np.log10(np.mean(piece**2) + 1e-20))


def lufs(sound: Sound) -> float:
    import pyloudnorm  # and with it a great part of scipy: only where loudness is measured

    return float(pyloudnorm.Meter(RATE).integrated_loudness(sound))


def true_peak(sound: Sound) -> float:
    """Decibels of the highest point at four times the rate, by zeros in the spectrum of pieces of four seconds."""
    highest = 1e-9
    for start in range(0, len(sound), 4 * RATE):
        piece = np.pad(sound[max(0, start - 512) : start + 4 * RATE + 512], 512)
        highest = max(highest, float(np.max(np.abs(np.fft.irfft(np.fft.rfft(piece), 4 * len(piece)) * 4))))
    return float(20 * np.log10(highest))


def note(
    onset: int | Fraction,
    length: int | Fraction,
    pitch: int,
    *,
    levels: Levels = ((Fraction(0), 0.0),),
    kind: Kind = "bowed",
    articulation: str = "separate",
) -> Struck:
    return Struck(0, Fraction(onset), Fraction(length), Fraction(pitch), levels, kind, articulation)


def take(*notes: Struck, length: int, quarters: int = 60) -> Take:
    tempos = TempoMap(((Fraction(0), Fraction(quarters)),), Fraction(quarters))
    return Take(notes, tempos, Fraction(length), (Player(0, "Violin", 40),))
