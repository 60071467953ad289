"""Bars of warm-ups: full, with the turn on a beat and the end at rest. Default tier."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.instruments.instrument import LEVELS, Level
from excerpts.warmups.note_layout import Layout, beats_per_minute
from excerpts.warmups.patterns import PATTERNS, TURNED

EVEN = ["scale", "arpeggio", "chromatic", "dominant-seventh", "diminished-seventh", "thirds"]
COUNTS = {
    "scale": lambda n: 14 * n + 1,
    "thirds": lambda n: 14 * n + 1,
    "sixths": lambda n: 14 * n + 1,
    "octaves": lambda n: 14 * n + 1,
    "scale-with-turn": lambda n: 14 * n + 7,
    "arpeggio": lambda n: 6 * n + 1,
    "dominant-seventh": lambda n: 8 * n + 1,
    "diminished-seventh": lambda n: 8 * n + 1,
    "chromatic": lambda n: 24 * n + 1,
    "broken-thirds": lambda n: 28 * n - 2,
    "seven-arpeggios": lambda n: 46 * n + 1,
}
LAID_OUT = [*(name for name in PATTERNS if name != "long-notes"), TURNED.name]


def layouts(pattern: str, level: Level, octaves: int) -> tuple[Layout, ...]:
    count = COUNTS[pattern](octaves) if pattern in COUNTS else 0
    return {**PATTERNS, TURNED.name: TURNED}[pattern].layouts(level, octaves, count)


CASES = [
    (pattern, level, octaves, layout)
    for pattern in LAID_OUT
    for level in LEVELS
    for octaves in (1, 2, 3, 4)
    if pattern != "scale-with-turn" or octaves == 3
    for layout in layouts(pattern, level, octaves)
]


@pytest.mark.parametrize(("pattern", "level", "octaves", "layout"), CASES)
def test_bars_are_full_and_the_last_note_is_the_longest(
    pattern: str, level: Level, octaves: int, layout: Layout
) -> None:
    if pattern not in {"acceleration", "tune"}:
        assert len(layout.lengths) == COUNTS[pattern](octaves)
    assert sum(layout.lengths) % layout.bar == 0
    assert layout.lengths[-1] == max(layout.lengths)
    assert layout.lengths[-1] > layout.lengths[-2]
    assert layout.onsets[-1] % layout.beat == 0
    assert beats_per_minute(layout, level) >= 40


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("octaves", [1, 2, 3, 4])
@pytest.mark.parametrize("pattern", EVEN)
def test_the_top_note_is_on_a_beat(pattern: str, octaves: int, level: Level) -> None:
    layout = layouts(pattern, level, octaves)[0]
    top = layout.onsets[len(layout.lengths) // 2]
    assert top % layout.beat == 0


@pytest.mark.parametrize("octaves", [1, 2, 3, 4])
@pytest.mark.parametrize("pattern", LAID_OUT)
def test_no_note_crosses_a_barline(pattern: str, octaves: int) -> None:
    """So that nothing needs a tie."""
    for layout in layouts(pattern, "advanced", octaves):
        for onset, length in zip(layout.onsets, layout.lengths, strict=True):
            assert onset // layout.bar == (onset + length - Fraction(1, 64)) // layout.bar


def test_a_first_year_scale_is_four_bars_of_crotchets() -> None:
    (layout,) = layouts("scale", "first", 1)
    assert (layout.beats, layout.beat_type) == (4, 4)
    assert list(layout.lengths) == [1] * 14 + [2]


def test_three_octaves_are_six_bars_that_turn_on_a_crotchet() -> None:
    layout = layouts("scale", "upper", 3)[0]
    half = Fraction(1, 2)
    assert layout.lengths == (1, *[half] * 20, 1, *[half] * 20, 2)


def test_two_octaves_of_an_arpeggio_are_in_six_eight() -> None:
    layout = layouts("arpeggio", "middle", 2)[0]
    assert (layout.beats, layout.beat_type) == (6, 8)
    assert layout.lengths == (*[Fraction(1, 2)] * 12, 3)
