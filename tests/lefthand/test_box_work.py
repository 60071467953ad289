"""What a box is work for, where the teacher does not say."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.lefthand.path import FIRST_YEAR, NO_WISHES, Wishes
from excerpts.lefthand.work import box_faults
from tests.technique.test_drills import cut

VIOLIN = INSTRUMENTS["violin"]
RUN = " ".join(f"{name}:1/4" for name in "A4 B4 C#5 D5 C#5 B4 A4 B4 C#5 D5 C#5 B4 A4 B4 C#5 D5".split())
BOXES = {
    "a string at each note": (" ".join(["A3:1/2 F#4:1/2"] * 4), ["crossing"]),
    "double stops": ("D4+B4:1 E4+C5:1 F#4+D5:1 G4+E5:1", ["intonation"]),
    "up the string": ("F5:1/2 A5:1/2 D6:1/2 F6:1/2 A6:1/2 F6:1/2 D6:1/2 A5:1/2", ["intonation", "shift"]),
    "a slow tune": ("A4:1 B4:1 C#5:1 D5:1", []),
}
"""Music, and what it is most work for; as many crotchets a minute as a slow box has."""


@pytest.mark.parametrize("what", BOXES)
def test_a_box_is_worked_on_for_what_weighs_most(what: str) -> None:
    music, faults = BOXES[what]
    assert sorted(box_faults(cut(music), VIOLIN, Fraction(60), NO_WISHES)) == faults


def test_speed_is_the_speed_that_is_to_be_reached() -> None:
    assert box_faults(cut(RUN), VIOLIN, Fraction(120), NO_WISHES) == ["speed"]
    assert box_faults(cut(RUN), VIOLIN, Fraction(40), NO_WISHES) == []


def test_a_first_year_player_shifts_nowhere() -> None:
    music = cut("A4:1 C5:1 E5:1 A5:1", "B5:1 A5:1 E5:1 C5:1")
    assert "shift" not in box_faults(music, VIOLIN, Fraction(60), Wishes(FIRST_YEAR))


def test_only_the_box_counts() -> None:
    """Context bars are no work."""
    from excerpts.score import score_from_bytes
    from tests.music import bars_of

    data = bars_of("D4+B4:1 E4+C5:1 F#4+D5:1 G4+E5:1", "A4:1 B4:1 C#5:1 D5:1")
    boxed = score_from_bytes(data, "test").part().passage("2").cut(context=1)
    assert box_faults(boxed, VIOLIN, Fraction(60), NO_WISHES) == []
