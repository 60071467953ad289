"""Fingers of two and three octaves as they are usually taught: common practice, no source; written down from memory.

Positions of violin and viola go by letters, so that the fifth position of a string is the first of the next (a violin
positions page).
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.instruments.instrument import INSTRUMENTS, THUMB
from excerpts.instruments.keys import Key
from excerpts.lefthand.fingering import FingeredNote, finger_notes
from excerpts.warmups import Manner, Plan, plan_warmup, warmup, warmup_line
from excerpts.warmups.usual_fingers import timed, wishes_of
from tests.instruments.test_keys import KEYS
from tests.schema import schema_errors

NUMERALS = ["I", "II", "III", "IV"]
USUAL = Manner(fingerings="usual")


def plan(key: str | Key, instrument: str, octaves: int, pattern: str = "scale") -> Plan:
    return plan_warmup(
        key,
        instrument=instrument,
        level="advanced" if octaves > 2 else "lower",
        octaves=octaves,
        pattern=pattern,
        manner=USUAL,
    )


def whole(made: Plan) -> list[FingeredNote]:
    """The fingering of a warm-up, printed or not, up to the top."""
    layout = made.layouts[0]
    notes = timed(made.notes, layout, made.tempo(layout))
    top = max(range(len(notes)), key=lambda index: notes[index].key)
    return list(finger_notes(notes[: top + 1], made.instrument, wishes_of(made.pattern.name), figures=False))


def up(made: Plan) -> str:
    """Strings with their fingers up to the top; "-" where the hand moves along its string."""
    words: list[str] = []
    string, position = -1, -1
    for one in whole(made):
        assert one.place is not None
        stop = one.place.hand
        if stop.string != string:
            words.append(f" {NUMERALS[len(made.instrument.strings) - 1 - stop.string]}:")
        elif stop.finger and position not in {stop.position, -1}:
            words.append("-")
        words.append("T" if stop.finger == THUMB else str(stop.finger))
        string = stop.string
        position = stop.position if stop.finger else position
    return "".join(words).strip()


TAUGHT = {
    ("violin", "G", 3): "IV:0123 III:0123 II:01234 I:1234-12-123",
    ("violin", "A", 3): "IV:123 III:0123 II:01234 I:123-123-1234",
    ("violin", "Bb", 3): "IV:23 III:0123 II:012-1234 I:1234-12-123",
    ("violin", "B", 3): "IV:234 III:1234 II:12-1234 I:1234-12-123",
    ("violin", "D", 2): "III:01234 II:12-1234 I:1234",
    ("violin", "C", 2): "IV:1234 III:1234 II:1234 I:123",  # third position throughout
    ("viola", "C", 3): "IV:0123 III:0123 II:0123 I:01234-12-123",
    ("viola", "D", 3): "IV:123 III:0123 II:0123 I:0123-123-1234",
    ("cello", "C", 3): "IV:0134 III:0134 II:0124 I:0124-124-123",
    ("cello", "D", 3): "IV:124 III:0124 II:0134 I:0134-134-T123",  # stretched on the low strings; the thumb
    ("cello", "G", 2): "III:0134 II:0134 I:0124-134",
    ("bass", "G", 2): "IV:2 III:012 II:014 I:014-14-123",
    ("bass", "F", 2): "IV:14 III:014 II:024 I:024-14-12",
}
"""Instrument, key and octaves, and the fingers up to the top."""


@pytest.mark.parametrize("what", TAUGHT, ids=lambda what: " ".join(map(str, what)))
def test_scales_are_fingered_as_they_are_taught(what: tuple[str, str, int]) -> None:
    instrument, key, octaves = what
    assert up(plan(key, instrument, octaves)) == TAUGHT[what]


@settings(deadline=None, max_examples=25)
@given(st.sampled_from(KEYS), st.sampled_from(["violin", "viola"]))
def test_the_hand_moves_up_on_to_the_first_finger(key: Key, instrument: str) -> None:
    """And no finger slides to the next note without a change of position."""
    for before, after in pairwise(whole(plan(key, instrument, 3))):
        assert before.place is not None
        assert after.place is not None
        one, other = before.place.hand, after.place.hand
        if one.string == other.string and one.finger and other.position > one.position:
            assert other.finger == 1, (key, str(after.note.pitches[0]))
        if one.string == other.string and one.position == other.position:
            assert one.finger != other.finger, (key, str(after.note.pitches[0]))


@pytest.mark.parametrize("instrument", INSTRUMENTS)
def test_the_way_down_mirrors_the_way_up(instrument: str) -> None:
    made = plan("F", instrument, 2)
    layout = made.layouts[0]
    half = whole(made)
    back = [one.place.hand.finger for one in half if one.place][::-1]
    printed = [spot.finger if spot else None for (spot,) in made.fingers[len(half) - 1 :]]
    assert all(shown in {None, finger} for shown, finger in zip(printed, back, strict=True))
    assert len(made.notes) == len(layout.lengths) == len(made.fingers)


def test_fingers_stand_where_the_hand_moves_and_the_string_changes() -> None:
    made = plan("G", "violin", 3)
    shown = [
        f"{pitch}:{spot.finger}"
        for (pitch,), (spot,) in zip(made.notes, made.fingers, strict=True)
        if spot is not None
    ]
    assert shown[:8] == ["G3:0", "D4:0", "A4:0", "F#5:1", "C6:1", "E6:1", "D6:2", "B5:4"]
    (numeral,) = [spot for (spot,) in plan("C", "violin", 2).fingers[:1]]
    assert numeral is not None
    assert numeral.shown  # third position on the lowest string is not guessed


def test_fingers_are_valid_music_and_are_called_a_suggestion() -> None:
    made = warmup("D", instrument="cello", level="advanced", octaves=3, manner=USUAL)
    assert schema_errors(made.xml) == []
    assert warmup_line(made) == "Suggested fingering, as it is usually taught."
    assert len(list(etree.fromstring(made.xml).iter("thumb-position"))) == 1


def test_positions_that_were_not_taught_are_left_out() -> None:
    def highest(taught: tuple[int, ...]) -> set[int]:
        asked = Manner(fingerings="usual", taught=taught)
        made = plan_warmup("E", instrument="violin", level="middle", octaves=2, manner=asked)
        layout = made.layouts[0]
        found = finger_notes(
            timed(made.notes, layout, made.tempo(layout)), made.instrument, wishes_of("scale", taught)
        )
        return {one.place.hand.position for one in found if one.place and one.place.hand.finger}

    assert 4 in highest(())
    assert 4 not in highest((1, 3, 5))


def test_double_stops_have_a_finger_for_each_note() -> None:
    made = plan("G", "violin", 1, "sixths")
    assert {len(spots) for spots in made.fingers} == {2}
    assert any(all(spots) for spots in made.fingers)
