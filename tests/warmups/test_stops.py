"""Double stops: on neighbouring strings, and under the hand. Default tier."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from excerpts.errors import WarmupError
from excerpts.instruments.fingerboard import Placement, place_stop, why_not
from excerpts.instruments.instrument import INSTRUMENTS
from excerpts.instruments.staff import parse_pitch
from excerpts.warmups import plan_warmup


@pytest.mark.parametrize(
    ("instrument", "low", "high", "placement"),
    [
        ("violin", "Bb3", "D4", Placement(0, 3, 0)),  # the lowest major third of the violin
        ("violin", "G3", "E4", Placement(0, 0, 2)),  # its lowest sixth
        ("violin", "G3", "G4", Placement(0, 0, 5)),  # its lowest octave
        ("violin", "G3", "B3", None),  # B lies below the open D string
        ("violin", "F3", "D4", None),
        ("violin", "G3", "E5", Placement(0, 0, 14)),  # the open string asks nothing of the hand
        ("violin", "A4", "E5", Placement(2, 0, 0)),
        ("violin", "B4", "F#5", Placement(2, 2, 2)),  # a fifth under one finger
        ("cello", "C2", "C3", Placement(0, 0, 5)),
        ("cello", "D2", "D3", None),  # an octave needs the thumb, which is not there yet
        ("cello", "A3", "A4", Placement(2, 7, 12)),
        ("bass", "E2", "E3", Placement(0, 0, 7)),
        ("bass", "F2", "F3", None),
        ("bass", "F2", "A2", Placement(0, 1, 0)),
    ],
)
def test_where_stops_lie(instrument: str, low: str, high: str, placement: Placement | None) -> None:
    """Open strings in fifths and in fourths: arithmetic by hand."""
    assert place_stop(INSTRUMENTS[instrument], parse_pitch(low), parse_pitch(high)) == placement


def test_why_a_stop_cannot_be_played() -> None:
    violin, bass = INSTRUMENTS["violin"], INSTRUMENTS["bass"]
    assert why_not(violin, parse_pitch("F3"), parse_pitch("D4")).endswith("F3 lies below its lowest string.")
    assert "two neighbouring strings" in why_not(violin, parse_pitch("G3"), parse_pitch("B3"))
    told = why_not(bass, parse_pitch("B2"), parse_pitch("B3"))
    assert told.endswith("the hand would have to span 7 semitones, and it spans 2.")


def names(key: str, pattern: str, **asked: object) -> str:
    plan = plan_warmup(key, pattern=pattern, octaves=1, **asked)  # type: ignore[arg-type]
    return " ".join(f"{chord[0]}-{chord[1]}" for chord in plan.notes)


def test_thirds_begin_where_the_upper_note_has_its_string() -> None:
    up = "Bb3-D4 C4-Eb4 D4-F4 Eb4-G4 F4-A4 G4-Bb4 A4-C5 Bb4-D5"
    assert names("Bb", "thirds").startswith(up)
    assert names("G", "thirds").startswith("G4-B4 A4-C5")


def test_sixths_have_the_scale_in_the_upper_notes() -> None:
    assert names("F", "sixths", instrument="viola").startswith("A3-F4 Bb3-G4 C4-A4")


def test_octaves_start_on_the_lowest_string() -> None:
    assert names("G", "octaves").startswith("G3-G4 A3-A4")


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (
            {"key": "G", "pattern": "thirds", "start": "G3"},
            "a whole octave of G major (thirds) from G3 does not fit the violin at level 'advanced' (written G3 "
            "to A7). G3 and B3 cannot be played together on the violin: they do not lie on two neighbouring "
            "strings. Two octaves fit, from G4.",
        ),
        (
            {"key": "C", "pattern": "octaves", "instrument": "bass"},
            "a whole octave of C major (octaves) does not fit the bass at level 'advanced' (written E2 to G5). "
            "C3 and C4 cannot be played together on the bass: the hand would have to span 7 semitones, and it "
            "spans 2. No octave of it can be played there.",
        ),
    ],
)
def test_a_stop_that_no_hand_can_play_is_refused(asked: dict[str, str], message: str) -> None:
    with pytest.raises(WarmupError) as caught:
        plan_warmup(**asked)  # type: ignore[arg-type]
    assert str(caught.value) == message


@given(
    st.sampled_from(list(INSTRUMENTS)), st.integers(28, 100), st.sampled_from([3, 4, 5, 7, 8, 9, 12, 16, 24])
)
def test_a_placed_stop_is_on_two_neighbouring_strings_and_no_wider_than_a_hand(
    instrument: str, low: int, width: int
) -> None:
    """Read back from the placement: the same pitches, none below its open string."""
    player = INSTRUMENTS[instrument]
    letters = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]
    pitches = [parse_pitch(f"{letters[m % 12]}{m // 12 - 1}") for m in (low, low + width)]
    placement = place_stop(player, *pitches)
    if placement is not None:
        assert placement.low >= 0
        assert placement.high >= 0
        assert player.strings[placement.string].midi + placement.low == low
        assert player.strings[placement.string + 1].midi + placement.high == low + width
        if placement.low and placement.high:
            assert abs(placement.low - placement.high) <= 5
