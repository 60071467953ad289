"""Tones as waves: bowed, plucked, a drone and a click, each exactly in tune, without vibrato.

A tone reads one period of a wave from a table, as fast as its pitch says. What sounds above 10 kHz is left out, so
that nothing folds back; the phases of the partials are set so that the wave is low for its loudness (M. R. Schroeder,
"Synthesis of low-peak-factor signals", 1970). How bright a string is, and how it dies away: common practice, no source.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float32]
_Floats = NDArray[np.float64]

RATE: Final = 44_100
"""Samples a second."""

_BITS: Final = 17
_SIZE: Final = 2**_BITS
_HIGHEST: Final = 10_000.0

ATTACK: Final = 0.025
RELEASE: Final = 0.025
"""Seconds in which a bowed note begins and ends."""

_PLUCK_ATTACK: Final = 0.003
_PLUCK_RELEASE: Final = 0.06
DRONE_FADE: Final = 0.5
_CLICK: Final = 0.03


def frequency(pitch: float, a: float) -> float:
    """Hertz of a MIDI number: a4 * 2^((number - 69) / 12) (ISO 16 has 440 for a4)."""
    return float(a * 2 ** ((pitch - 69) / 12))


def bowed(hertz: float, length: float, gain: Wave, *, joined: bool = False) -> Wave:
    """A bowed note.

    Args:
        hertz: Its frequency.
        length: Seconds that it sounds; it fades after them.
        gain: How loud it is along its length.
        joined: It is reached without a new bow: it begins as the note before it ends.
    """
    count = samples(length + RELEASE)
    wave = _read(_table(round(hertz, 6), "bowed"), hertz, count)
    rise = samples(min(ATTACK if not joined else RELEASE, length))
    return _shaped(wave, gain, rise, samples(RELEASE))


def plucked(hertz: float, length: float, gain: Wave) -> Wave:
    """A plucked note: its high partials die away first; it is damped at the end of its length."""
    count = samples(length + _PLUCK_RELEASE)
    time = np.arange(count, dtype=np.float32) / np.float32(RATE)
    slow = np.float32(0.25 + 60.0 / hertz)
    wave = _read(_table(round(hertz, 6), "dark"), hertz, count) * np.exp(-time / slow)
    wave += _read(_table(round(hertz, 6), "bright"), hertz, count) * np.exp(-4 * time / slow)
    return _shaped(wave, gain, samples(_PLUCK_ATTACK), samples(_PLUCK_RELEASE))


def drone(hertz: float, start: int, count: int, whole: int) -> Wave:
    """A piece of a note that is held, with slow fades at both ends.

    Args:
        hertz: Its frequency.
        start: The first sample of the piece.
        count: How many samples the piece has.
        whole: How many samples the note has.
    """
    place = np.arange(start, start + count)
    fade = np.clip(np.minimum(place, whole - 1 - place) / samples(DRONE_FADE), 0, 1)
    held: Wave = _read(_table(round(hertz, 6), "drone"), hertz, count, start)
    held *= np.sin(np.pi / 2 * fade).astype(np.float32) ** 2
    return held


@lru_cache(maxsize=2)
def click(strong: bool) -> Wave:
    """A click: the first of a bar is higher. Its first sample that is not 0 is the second."""
    time = np.arange(samples(_CLICK)) / RATE
    hertz = 1760.0 if strong else 1320.0
    wave = np.sin(2 * np.pi * hertz * time) * np.exp(-time / 0.006)
    wave[-64:] *= np.linspace(1, 0, 64)
    return wave.astype(np.float32)


def samples(seconds: float) -> int:
    """The number of samples that is nearest to a time."""
    return max(1, round(seconds * RATE))


def _read(table: Wave, hertz: float, count: int, start: int = 0) -> Wave:
    """A wave read from a table of one period; the phase is whole numbers, so that no error adds up."""
    step = np.uint32(round(hertz / RATE * 2**32))
    phase = np.arange(start, start + count, dtype=np.uint32) * step
    samples: Wave = table[phase >> np.uint32(32 - _BITS)]
    return samples


def _shaped(wave: Wave, gain: Wave, rise: int, fall: int) -> Wave:
    """A wave with its levels, from silence and to silence."""
    if len(gain) == 1:
        wave *= gain
    else:
        wave[: len(gain)] *= gain
        wave[len(gain) :] *= gain[-1]
    rise = min(rise, len(wave) - fall)
    wave[:rise] *= _half_cosine(rise)
    wave[len(wave) - fall :] *= _half_cosine(fall)[::-1]
    return wave


@lru_cache(maxsize=64)
def _half_cosine(count: int) -> Wave:
    return ((1 - np.cos(np.pi * (np.arange(count) + 0.5) / max(1, count))) / 2).astype(np.float32)


@lru_cache(maxsize=512)
def _table(hertz: float, kind: str) -> Wave:
    """One period of a wave of unit loudness (its mean square is a half, as a sine's)."""
    partials = np.arange(1, max(2, int(_HIGHEST / hertz) + 1))
    number = partials.astype(np.float64)
    strength = _STRENGTHS[kind](number, number * hertz)
    strength /= np.sqrt(np.sum(strength**2))
    phases = -2 * np.pi * np.concatenate([[0.0], np.cumsum(np.cumsum(strength**2))[:-1]])
    spectrum = np.zeros(_SIZE // 2 + 1, dtype=np.complex128)
    spectrum[partials] = strength * np.exp(1j * phases) * _SIZE / 2
    return np.fft.irfft(spectrum, _SIZE).astype(np.float32)


def _of_bow(number: _Floats, hertz: _Floats) -> _Floats:
    """Partials of a bowed string, as a body lets them through: weak below 200 Hz, mellow above 2,500 Hz."""
    body = (hertz / 200) ** 2 / (1 + (hertz / 200) ** 2) + 0.15
    return np.asarray(body / number / (1 + (hertz / 2500) ** 2))


def _of_dark_pluck(number: _Floats, hertz: _Floats) -> _Floats:
    """The partials that last: the string is plucked at a quarter of its length, and no partial has a knot there."""
    return np.asarray(_of_bow(number, hertz) * (0.2 + np.abs(np.sin(np.pi * number / 4.3))) / number**0.5)


def _of_bright_pluck(number: _Floats, hertz: _Floats) -> _Floats:
    return np.asarray(
        _of_bow(number, hertz) * (0.2 + np.abs(np.sin(np.pi * number / 4.3))) * (number > 2) + 1e-9
    )


def _of_drone(number: _Floats, hertz: _Floats) -> _Floats:
    return np.asarray(1 / number**1.5 / (1 + (hertz / 2000) ** 2))


_STRENGTHS: Final = {
    "bowed": _of_bow, "dark": _of_dark_pluck, "bright": _of_bright_pluck, "drone": _of_drone,
}  # fmt: skip
"""How strong each partial is, by its number and its frequency in hertz."""
