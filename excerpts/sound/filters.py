"""A short room around the notes, and how loud and how high a wave is.

Loudness: ITU-R BS.1770-4 (K-weighting, blocks of 400 ms, gates at -70 LUFS and 10 LU below the mean); its filters at
44.1 kHz as in its Annex 1, from their analogue prototypes. True peak: Annex 2, four times as many samples.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from excerpts.sound.tone import RATE, Wave

ROOM: Final = 0.4
"""Seconds that the room goes on after a note."""

_WET: Final = -17.0
"""Decibels of what the room adds, below the note itself."""

_BLOCK: Final = 0.4
_PIECE: Final = 256
_SIZE: Final = 2**16


def put_in_room(wave: Wave) -> None:
    """Put a wave in a small room; what sounds on for `ROOM` after its end is cut off there."""
    _convolve(wave, _room())


def _convolve(wave: Wave, impulse: Wave) -> None:
    """Send a wave through a filter of a finite answer, piece by piece and in its own place: it may be long."""
    size = max(_SIZE, 4 * 2 ** (len(impulse) - 1).bit_length())
    step = size - len(impulse) + 1
    answer = np.fft.rfft(impulse, size)
    after = np.zeros(len(impulse) - 1)
    for start in range(0, len(wave), step):
        piece = wave[start : start + step]
        filtered = np.fft.irfft(np.fft.rfft(piece, size) * answer, size)
        filtered[: len(after)] += after
        after = filtered[step:]
        piece[:] = filtered[: len(piece)]


@lru_cache(maxsize=1)
def _room() -> Wave:
    """The note itself, then noise that dies away; the same noise every time."""
    count = round(ROOM * RATE)
    noise = np.random.default_rng(1).standard_normal(count) * np.exp(-6.9 * np.arange(count) / count)
    noise[: RATE // 125] = 0  # the first echo comes after 8 ms
    noise = np.convolve(noise, np.hanning(12), mode="same")
    noise *= np.hanning(2 * count)[count:]
    noise *= 10 ** (_WET / 20) / np.sqrt(np.sum(noise**2))
    noise[0] = 1
    return noise.astype(np.float32)


def loudness(waves: list[Wave]) -> float:
    """Integrated loudness in LUFS of waves one after the other; minus infinity where there is nothing to hear."""
    blocks = np.concatenate([_block_powers(wave) for wave in waves]) if waves else np.zeros(0)
    heard = blocks[blocks > _power(-70.0)]
    if len(heard):
        heard = heard[heard > np.mean(heard) / 10]
    return _lufs(float(np.mean(heard))) if len(heard) else -np.inf


def _block_powers(wave: Wave) -> NDArray[np.float64]:
    """Mean square of every block of 400 ms, one each 100 ms; a long wave is gone through in pieces."""
    quarter, filtered = round(_BLOCK / 4 * RATE), _weighting()
    count = len(wave) // quarter
    powers = [np.zeros(0)]
    for first in range(0, count, _PIECE):
        last = min(first + _PIECE, count)
        lead = min(len(filtered), first * quarter)
        weighted = wave[first * quarter - lead : last * quarter].copy()
        _convolve(weighted, filtered)
        squares = np.square(weighted[lead:]).reshape(last - first, quarter)
        powers.append(np.mean(squares, axis=1, dtype=np.float64))
    return np.convolve(np.concatenate(powers), np.full(4, 0.25), mode="valid") if count >= 4 else np.zeros(0)


def _lufs(power: float) -> float:
    return -0.691 + 10 * float(np.log10(power))


def _power(lufs: float) -> float:
    return float(10 ** ((lufs + 0.691) / 10))


@lru_cache(maxsize=1)
def _weighting() -> Wave:
    """The answer of the two filters to one sample."""
    count = 2**13
    turn = np.exp(-2j * np.pi * np.arange(count + 1) / (2 * count))
    whole = np.ones(count + 1, dtype=np.complex128)
    for numerator, denominator in (_shelf(), _high_pass()):
        whole *= np.polyval(numerator[::-1], turn) / np.polyval(denominator[::-1], turn)
    return np.fft.irfft(whole)[:count].astype(np.float32)


_Filter = tuple[list[float], list[float]]


def _shelf() -> _Filter:
    k, q, high = np.tan(np.pi * 1681.974450955533 / RATE), 0.7071752369554196, 10 ** (3.999843853973347 / 20)
    middle = high**0.4996667741545416
    a0 = 1 + k / q + k * k
    b = [high + middle * k / q + k * k, 2 * (k * k - high), high - middle * k / q + k * k]
    return [float(x / a0) for x in b], [1.0, float(2 * (k * k - 1) / a0), float((1 - k / q + k * k) / a0)]


def _high_pass() -> _Filter:
    k, q = np.tan(np.pi * 38.13547087602444 / RATE), 0.5003270373238773
    a0 = 1 + k / q + k * k
    return [1.0, -2.0, 1.0], [1.0, float(2 * (k * k - 1) / a0), float((1 - k / q + k * k) / a0)]


def true_peak(wave: Wave) -> float:
    """The highest point of a wave between its samples too, where they are near it."""
    size, margin = 1024, 128
    highest = _highest(wave)
    for start in range(0, len(wave), size):
        if _highest(wave[start : start + size]) > 0.8 * highest:
            first = max(0, start - margin)
            piece = np.pad(wave[first : start + size + margin].astype(np.float64), margin)
            piece *= np.clip(np.hanning(len(piece)) * 50, 0, 1)  # no jump at its ends
            finer = np.fft.irfft(np.fft.rfft(piece), 4 * len(piece)) * 4
            inside = 4 * (margin + start - first)
            highest = max(highest, _highest(finer[inside : inside + 4 * size]))
    return highest


def _highest(wave: NDArray[np.floating[Any]]) -> float:
    return max(float(wave.max(initial=0)), -float(wave.min(initial=0)))


def limit(wave: Wave, ceiling: float) -> None:
    """Turn a wave down around the points that are higher than a ceiling, smoothly, over some 15 ms at each side."""
    size, reach = 64, 10
    whole = wave[: len(wave) // size * size].reshape(-1, size)
    peaks = np.maximum(whole.max(axis=1), -whole.min(axis=1))
    peaks = np.append(peaks, _highest(wave[whole.size :]))
    wanted = np.minimum(1.0, ceiling / np.maximum(peaks, 1e-9))
    if wanted.min() == 1.0:
        return
    lowest = np.pad(wanted, 2 * reach, mode="edge")
    lowest = np.lib.stride_tricks.sliding_window_view(lowest, 2 * reach + 1).min(axis=1)
    weights = np.hanning(2 * reach + 1)  # its ends are 0: what lies between two blocks is low enough too
    smooth = np.convolve(lowest, weights / weights.sum(), mode="valid")
    middles = np.arange(len(peaks)) * size + size / 2
    for start in range(0, len(wave), _SIZE):
        piece = wave[start : start + _SIZE]
        piece *= np.interp(np.arange(start, start + len(piece)), middles, smooth).astype(np.float32)
