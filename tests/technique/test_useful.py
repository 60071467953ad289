"""The few most useful bars of a study, on small music. Default tier."""

from __future__ import annotations

from collections.abc import Collection

import pytest

from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.technique import few_useful_bars
from tests.technique.test_drills import cut, fingered

VIOLIN = INSTRUMENTS["violin"]
STEPS = fingered("A4.0 B4.1 C5.2 D5.3")
CROSSED = "D4:1 A4:1 D4:1 A4:1"
SHIFTED = fingered("A4.0 B4.1 D5.1 E5.2")


def few(excerpt: Excerpt, why: Collection[str] = ()) -> list[str]:
    return [bar.label for bar in few_useful_bars(excerpt, VIOLIN, why)]


def test_the_bars_where_the_hands_have_most_to_do() -> None:
    """The way back from third position is a shift too."""
    assert few(cut(STEPS, STEPS, SHIFTED, STEPS)) == ["3", "4"]
    assert few(cut(STEPS, CROSSED, CROSSED, STEPS)) == ["2", "3"]


def test_what_the_boxes_suffer_from_counts_twice() -> None:
    """Shifts in the first three bars, crossings in the last: whichever the player's boxes need is taken."""
    bars = (SHIFTED, SHIFTED, STEPS, fingered("D5.3 E5.0 D5.3 E5.0"), fingered("D5.3 E5.0 D5.3 E5.0"))
    assert few(cut(*bars), ("crossing",)) == ["4", "5"]
    assert few(cut(*bars), ("shift",)) == ["2", "3"]


def test_equal_bars_give_the_first_and_more_notes_count() -> None:
    even = "A4:1 B4:1 A4:1 B4:1"
    assert few(cut(even, even, even)) == ["1", "2"]
    assert few(cut("A4:4", "A4:4", "A4:1 A4:1 A4:1 A4:1")) == ["2", "3"]


@pytest.mark.parametrize("bars", [(STEPS,), (STEPS, CROSSED)])
def test_a_study_of_two_bars_is_short_already(bars: tuple[str, ...]) -> None:
    assert few(cut(*bars)) == []


def test_a_study_in_two_voices_stays_whole() -> None:
    second = (
        "<note><pitch><step>E</step><octave>4</octave></pitch><duration>96</duration><voice>2</voice></note>"
    )
    two = f"C5:4 <backup><duration>96</duration></backup> {second}"
    assert few(cut(two, two, two)) == []
