"""The strings that variants and drills take from a proposed fingering, and when they are a guess."""

from __future__ import annotations

from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.lefthand.strings import SURE, LineHand, hand_of
from excerpts.notes import read_line
from tests.lefthand.hands import reading
from tests.lefthand.test_read_part import technical


def hand(*bars: str, name: str = "Violin") -> LineHand:
    read = reading(*bars, name=name)
    return hand_of(read_line(read.excerpt), read.player)


def strings(found: LineHand, count: int) -> list[int]:
    """String numbers of the first notes, 1 the highest."""
    return [4 - one.index for event in range(count) for one in found.strings(event)]


def test_what_lies_in_first_position_is_taken_to_be_played_there() -> None:
    """Free, slow notes would go to the D string in third position."""
    slow = hand("C5:1 B4:1 A4:1 C5:1")
    assert strings(slow, 4) == [2, 2, 2, 2]
    high = hand("C5:1 B4:1 A4:1 C6:1", "D6:1 E6:1 D6:1 C6:1")
    assert {one.place.hand.position for one in high.low.values() if one.place} - {0, 1}


def test_a_string_is_no_guess_where_it_is_told_or_leaves_no_doubt() -> None:
    told = hand(f"A4:1{technical('<string>3</string>')} B4:1 C#5:1 D5:1")
    assert told.strings(0)[0].told
    doubtful = hand("A4:2 E5:2")
    for event, one in doubtful.free.items():
        (string,) = doubtful.strings(event)
        assert one.place is not None
        assert string.told == (one.sure[0] >= SURE and one.place.low == string.index)


def test_on_instruments_that_were_not_measured_all_is_a_guess_but_what_is_told() -> None:
    found = hand(f"D3:1 E3:1{technical('<fingering>1</fingering>')} F3:1 G3:1", name="Cello")
    assert [found.strings(event)[0].told for event in range(4)] == [False, True, False, False]


def test_chords_have_a_string_for_each_note() -> None:
    assert [one.index for one in hand("G3+D4+B4+G5:4").strings(0)] == [0, 1, 2, 3]
    assert hand("G3+A3:4").strings(0) == ()


def test_the_instruments_strings_are_counted_from_the_lowest() -> None:
    assert INSTRUMENTS["violin"].strings[hand("G3:4").strings(0)[0].index].step == "G"
