"""The sound of the page, rendered offline: clicks to the sample, pitches by FFT (browser tier)."""

from __future__ import annotations

from base64 import b64decode
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from tests.sound.hearing import cents, frequency

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser

RATE = 44100

_LOOP = """async ([bpm, bar, rate, seconds]) => {
    const { beatBuffer } = await import("/sound.mjs");
    const context = new OfflineAudioContext(1, seconds * rate, rate);
    const source = new AudioBufferSourceNode(context, { buffer: beatBuffer(context, bpm, bar, true), loop: true });
    source.connect(context.destination);
    source.start(0);
    const samples = (await context.startRendering()).getChannelData(0);
    const found = [];
    let silent = Infinity;
    for (let n = 0; n < samples.length; n++) {
        if (samples[n] === 0) silent++;
        else { if (silent > 400) found.push(n); silent = 0; }
    }
    return found;
}"""

_STEP = """async ([step, how]) => {
    const { rendered } = await import("/sound.mjs");
    const bytes = new Uint8Array((await rendered(step, how)).getChannelData(0).buffer);
    let text = "";
    for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192));
    return btoa(text);
}"""


def heard(modules: Page, notes: list[list[Any]], length: float, **how: Any) -> np.ndarray[Any, Any]:
    """A step of these notes as samples."""
    step = {"bpm": 60, "bar": 4, "length": length, "notes": notes, "clicks": how.pop("clicks", [])}
    return np.frombuffer(b64decode(modules.evaluate(_STEP, [step, {"rate": RATE, **how}])), np.float32)


@pytest.mark.parametrize(("bpm", "bar"), [(92, 4), (66.5, 3)])
def test_every_click_of_the_loop_is_at_its_sample(bpm: float, bar: int, modules: Page) -> None:
    """Outside check: the n-th beat begins at n * 60 / tempo seconds, to 2 samples, beyond the end of the loop too."""
    seconds = 130
    found = modules.evaluate(_LOOP, [bpm, bar, RATE, seconds])
    period = 60 * RATE / bpm
    assert len(found) == int(seconds * bpm / 60) + (seconds * bpm % 60 > 0)
    # The wave of a click begins at 0: its first sample that is heard is the second.
    assert max(abs(place - 1 - n * period) for n, place in enumerate(found)) <= 2


@pytest.mark.parametrize("a", [440, 442, 415])
def test_pitches_are_those_of_the_a(a: int, modules: Page) -> None:
    """Outside check: ISO 16:1975 has 440 Hz for a4; other notes by equal steps, f = a * 2^((n - 69) / 12)."""
    for key in (69, 55, 76):
        wave = heard(modules, [[0, 2, key, 0, 0]], 2, a=a)
        own = a * 2 ** ((key - 69) / 12)
        assert abs(cents(frequency(wave[RATE // 4 : RATE * 7 // 4], own), own)) < 0.5


def test_notes_come_when_they_are_to_and_clicks_with_them(modules: Page) -> None:
    wave = heard(modules, [[0, 0.4, 69, 0, 0], [1, 0.4, 71, 0, 1]], 2, a=440)
    loud = np.abs(wave)
    begun = [int(np.flatnonzero(loud[from_:] > 1e-4)[0]) + from_ for from_ in (0, int(0.8 * RATE))]
    assert [place / RATE for place in begun] == pytest.approx([0.05, 1.05], abs=0.004)
    assert loud[int(0.75 * RATE) : int(1.0 * RATE)].max() < 0.01
    counted = heard(modules, [], 1, a=440, click=True, clicks=[[-1, True], [0, True], [0.5, False]])
    places = np.flatnonzero(np.abs(counted) > 0.05) / RATE
    starts = places[np.insert(np.diff(places) > 0.2, 0, True)]
    assert starts == pytest.approx([0.05, 1.05, 1.55], abs=0.001)


def test_dynamics_and_the_drone_are_heard(modules: Page) -> None:
    soft, loud = (heard(modules, [[0, 1, 69, level, 0]], 1, a=440) for level in (-12, 0))
    assert 20 * np.log10(np.abs(loud).max() / np.abs(soft).max()) == pytest.approx(12, abs=0.5)
    growing = heard(modules, [[0, 2, 69, [[0, -12], [2, 0]], 0]], 2, a=440)
    assert (
        np.abs(growing[RATE * 3 // 2 : RATE * 2]).max() > 1.6 * np.abs(growing[RATE // 4 : RATE // 2]).max()
    )
    drone = heard(modules, [], 2, a=440, drone=62)
    assert abs(cents(frequency(drone[RATE // 4 : RATE * 7 // 4], 293.66), 293.665)) < 0.5
    assert np.abs(heard(modules, [], 1, a=440)).max() == 0
    assert 0.02 < np.abs(loud).max() < 1
