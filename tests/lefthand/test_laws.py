"""What holds for every fingering."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.instruments.instrument import INSTRUMENTS, Instrument
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.path import Wishes
from excerpts.musicxml.pitch import Pitch

PLAYERS = st.sampled_from([*INSTRUMENTS.values()])
WISHES = st.builds(
    Wishes,
    positions=st.none() | st.frozensets(st.integers(0, 5), min_size=1),
    small_hand=st.booleans(),
    tone=st.sampled_from(["", "dark", "bright"]),
    open_strings=st.sampled_from(["", "never", "always"]),
)


@st.composite
def melodies(draw: st.DrawFn, player: Instrument) -> list[HandNote]:
    """Notes between the lowest string and the top of the advanced range; some of them double stops."""
    low = int(player.strings[0].midi)
    heights = st.integers(low, int(player.range_at("advanced").top.midi))
    found: list[HandNote] = []
    time = 0.0
    for first in draw(st.lists(heights, min_size=1, max_size=12)):
        others = draw(st.lists(st.integers(1, 12), max_size=1)) if draw(st.booleans()) else []
        pitches = tuple(_pitch(first + more) for more in (0, *others))
        seconds = draw(st.sampled_from([0.1, 0.3, 1.0]))
        found.append(
            HandNote(
                pitches, (Given(),) * len(pitches), time=time, seconds=seconds, on_beat=draw(st.booleans())
            )
        )
        time += seconds
    return found


def _pitch(midi: int) -> Pitch:
    from fractions import Fraction

    step, alter = [("C", 0), ("C", 1), ("D", 0), ("E", -1), ("E", 0), ("F", 0), ("F", 1), ("G", 0), ("A", -1),
                   ("A", 0), ("B", -1), ("B", 0)][midi % 12]  # fmt: skip
    return Pitch(step, midi // 12 - 1, Fraction(alter))


@given(st.data(), PLAYERS, WISHES)
def test_every_note_sounds_on_its_strings(data: st.DataObject, player: Instrument, wishes: Wishes) -> None:
    music = data.draw(melodies(player))
    found = finger_notes(music, player, wishes)
    assert [one.note for one in found] == music
    for one in found:
        if one.place is None:
            assert len(one.note.pitches) > 1  # a single note in the instrument's range can always be had
            continue
        for pitch, stop in zip(one.note.pitches, one.place.stops, strict=True):
            assert 0 <= stop.string < len(player.strings)
            assert player.strings[stop.string].midi + stop.above == pitch.midi
            assert (stop.finger == 0) == (stop.above == 0)
        strings = [stop.string for stop in one.place.stops]
        assert len({*strings}) == len(strings)
        assert max(strings) - min(strings) == len(strings) - 1
        assert all(0 <= sure <= 1 + 1e-9 for sure in one.sure)


@given(st.data(), PLAYERS, WISHES)
def test_same_input_same_output(data: st.DataObject, player: Instrument, wishes: Wishes) -> None:
    music = data.draw(melodies(player))
    assert finger_notes(music, player, wishes) == finger_notes(music, player, wishes)


@given(st.data(), PLAYERS)
def test_marks_that_a_hand_can_keep_are_kept(data: st.DataObject, player: Instrument) -> None:
    """String and finger of one fingering, given for another wish, come out again."""
    music = data.draw(melodies(player))
    first = finger_notes(music, player, Wishes(tone="dark"))
    marked = [
        replace(
            one.note,
            given=tuple(Given(stop.finger, stop.string) for stop in one.place.stops)
            if one.place and data.draw(st.booleans())
            else one.note.given,
        )
        for one in first
    ]
    for one, other in zip(finger_notes(marked, player, Wishes(tone="bright")), first, strict=True):
        if one.note.given[0].string is not None:
            assert one.place is not None
            assert other.place is not None
            assert [(s.string, s.finger) for s in one.place.stops] == [
                (s.string, s.finger) for s in other.place.stops
            ]


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_the_hand_reaches_the_top_of_the_range(name: str) -> None:
    player = INSTRUMENTS[name]
    top = HandNote((player.range_at("advanced").top,), (Given(),))
    assert finger_notes([top], player)[0].place is not None
