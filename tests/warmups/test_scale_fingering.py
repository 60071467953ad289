"""Fingers by rule and by the teacher. Default tier.

First-position fingers against the usual tables of finger places; the D, A and G major of a first year as every
beginner's book has them.
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import FIRST_POSITION, INSTRUMENTS
from excerpts.instruments.keys import Key
from excerpts.warmups import Manner, Plan, plan_warmup, warmup, warmup_line
from tests.instruments.test_keys import KEYS
from tests.schema import schema_errors

NUMERALS = ["IV", "III", "II", "I"]


def up(plan: Plan) -> str:
    """Fingers up to the top note, with the numeral where one is printed."""
    notes = [chord[0].midi for chord in plan.notes]
    spots = [spots[0] for spots in plan.fingers][: notes.index(max(notes)) + 1]
    return " ".join(
        "-" if spot is None else f"{NUMERALS[spot.string] if spot.shown else ''}{spot.finger}"
        for spot in spots
    )


@pytest.mark.parametrize(
    ("instrument", "key", "start", "fingers"),
    [
        ("violin", "D", "D4", "0 1 2 3 0 1 2 3"),
        ("violin", "A", "A4", "0 1 2 3 0 1 2 3"),
        ("violin", "G", "G3", "0 1 2 3 0 1 2 3"),
        ("violin", "Bb", "Bb3", "2 3 0 1 2 3 0 1"),
        ("violin", "C#", "C#4", "3 1 2 3 4 1 2 3"),  # a finger a note: 1, 3, 4 and 6 semitones up the string
        ("violin", "G", "G4", "3 0 1 2 3 0 1 2"),
        ("viola", "C", "C3", "0 1 2 3 0 1 2 3"),
        ("cello", "C", "C2", "0 1 3 4 0 1 3 4"),
        ("cello", "D", "D3", "0 1 3 4 0 1 3 4"),
        ("cello", "F", "F2", "4 0 1 2 4 0 1 2"),
        ("cello", "A", "A2", "1 2 4 0 1 2 4 0"),  # the hand opened forward for C sharp and G sharp
        ("cello", "Eb", "Eb2", "2 4 0 1 2 4 0 1"),  # and backward for A flat
        ("bass", "G", "G2", "2 0 1 2 0 1 4 0"),
        ("bass", "F", "F2", "1 4 0 1 4 0 1 2"),
    ],
)
def test_first_position(instrument: str, key: str, start: str, fingers: str) -> None:
    plan = plan_warmup(key, instrument=instrument, octaves=1, start=start, manner=Manner(fingerings="open"))
    assert up(plan) == fingers


def test_the_fourth_finger_instead_of_open_strings_but_not_on_the_first_note() -> None:
    plan = plan_warmup("G", octaves=2, start="G3", manner=Manner(fingerings="fourth"))
    assert up(plan) == "0 1 2 3 4 1 2 3 4 1 2 3 4 1 2"
    with pytest.raises(WarmupError, match="does not reach the next open string"):
        plan_warmup("C", instrument="cello", manner=Manner(fingerings="fourth"))


def test_notes_above_first_position_have_no_finger_and_the_page_says_so() -> None:
    plan = plan_warmup("G", octaves=3, manner=Manner(fingerings="open"))
    assert up(plan).endswith("0 1 2 3 4 - - - - -")
    said = warmup_line(warmup("G", octaves=3, manner=Manner(fingerings="open")))
    assert said == "Suggested fingering, in first position; notes outside it have none."


def test_one_position_begun_with_a_finger_tells_its_strings() -> None:
    plan = plan_warmup("D", octaves=2, start="D4", manner=Manner(fingerings="2"))
    assert up(plan) == "IV2 3 4 III1 2 3 4 II1 2 3 4 I1 2 3 4"
    with pytest.raises(WarmupError, match="no position of the violin that begins with finger 4"):
        plan_warmup("D", octaves=3, start="D4", manner=Manner(fingerings="4"))


def test_the_teachers_own_fingers_are_mirrored_and_their_strings_printed_both_ways() -> None:
    asked = Manner(fingerings="IV 0 1 2 3 III 0 1 2 3 II 0 1 2 1 2 1 2")
    plan = plan_warmup("G", octaves=2, start="G3", manner=asked)
    assert up(plan) == "IV0 1 2 3 III0 1 2 3 II0 1 2 1 2 1 2"
    down = [f"{NUMERALS[s[0].string] if s[0].shown else ''}{s[0].finger}" for s in plan.fingers if s[0]][14:]
    assert down == "2 1 2 1 2 1 0 III3 2 1 0 IV3 2 1 0".split()
    assert warmup_line(warmup("G", octaves=2, start="G3", manner=asked)) == ""


def test_fingers_and_strings_in_the_file() -> None:
    excerpt = warmup("D", octaves=2, start="D4", manner=Manner(fingerings="2"))
    assert schema_errors(excerpt.xml) == []
    first = next(excerpt.tree().iter("note"))
    assert (first.findtext(".//fingering"), first.findtext(".//string")) == ("2", "4")


@pytest.mark.parametrize(
    ("fingers", "message"),
    [
        ("0123", "there are 4 fingers for 8 notes up to the top (15 in all)."),
        ("0123 0125", "'0123 0125' is not a list of fingers: '5'."),
        ("1123 0123", None),
        ("0023 0123", "E4 is not an open string of the violin."),
        ("III 0123 I 0123", "A4 lies below the open E5 string."),
        ("III 1123 II 0123", "D4 is the open D4 string, which takes no finger."),
        ("loud", "'loud' are not fingerings."),
        ("7", "'7' are not fingerings."),
    ],
)
def test_fingers_that_cannot_be(fingers: str, message: str | None) -> None:
    asked = {"key": "D", "octaves": 1, "start": "D4", "manner": Manner(fingerings=fingers)}
    if message is None:
        assert up(plan_warmup(**asked)) == "1 1 2 3 0 1 2 3"  # type: ignore[arg-type]
        return
    with pytest.raises(WarmupError) as caught:
        plan_warmup(**asked)  # type: ignore[arg-type]
    assert str(caught.value).startswith(message)


def test_double_stops_have_a_finger_on_each_string_where_first_position_holds_both() -> None:
    plan = plan_warmup("Bb", octaves=1, pattern="thirds", manner=Manner(fingerings="open"))
    assert ["".join(str(s.finger) if s else "-" for s in spots) for spots in plan.fingers][:8] == (
        "20 31 42 -- 20 31 42 --".split()
    )
    for text in ("2", "0123"):
        with pytest.raises(WarmupError, match="single notes"):
            plan_warmup("Bb", octaves=1, pattern="thirds", manner=Manner(fingerings=text))


@settings(deadline=None)
@given(
    st.sampled_from(KEYS),
    st.sampled_from(list(INSTRUMENTS)),
    st.sampled_from(["scale", "arpeggio", "broken-thirds", "thirds", "sixths"]),
    st.sampled_from(["open", "fourth"]),
)
def test_no_finger_below_its_string_or_where_it_does_not_reach(
    key: Key, instrument: str, pattern: str, choice: str
) -> None:
    """Every finger lies above its open string where the hand's table has it, so none spans a fifth."""
    if choice == "fourth" and not INSTRUMENTS[instrument].hand.by_letters:
        choice = "open"
    if pattern == "sixths" and instrument == "bass":
        pattern = "thirds"
    player = INSTRUMENTS[instrument]
    plan = plan_warmup(
        key, instrument=instrument, octaves=1, pattern=pattern, manner=Manner(fingerings=choice)
    )
    places: dict[tuple[int, int], set[int]] = {}
    for chord, spots in zip(plan.notes, plan.fingers, strict=True):
        for pitch, spot in zip(chord, spots, strict=True):
            if spot is None:
                continue
            above = int(pitch.midi - player.strings[spot.string].midi)
            assert (above == 0) == (spot.finger == 0)
            assert 0 <= above <= player.hand.reach
            if spot.finger:
                assert any(spot.finger in form.get(above - FIRST_POSITION, ()) for form in player.hand.forms)
            places.setdefault((spot.string, spot.finger), set()).add(above)
        strings = [spot.string for spot in spots if spot]
        assert len(set(strings)) == len(strings)
    assert all(max(found) - min(found) < 7 for found in places.values())


@pytest.mark.parametrize("instrument", list(INSTRUMENTS))
@pytest.mark.parametrize("pattern", ["scale", "arpeggio"])
def test_first_year_scales_have_fingers_unless_none_are_asked_for(instrument: str, pattern: str) -> None:
    asked = {"instrument": instrument, "pattern": pattern}
    fingers = plan_warmup("G", level="first", **asked).fingers  # type: ignore[arg-type]
    assert fingers
    assert all(spot is not None for (spot,) in fingers)
    assert not plan_warmup("G", level="first", manner=Manner(fingerings="none"), **asked).fingers  # type: ignore[arg-type]
    assert not plan_warmup("G", level="lower", **asked).fingers  # type: ignore[arg-type]


@settings(deadline=None)
@given(st.sampled_from(KEYS), st.sampled_from(["violin", "viola"]))
def test_neighbouring_notes_on_a_string_have_different_fingers(key: Key, instrument: str) -> None:
    plan = plan_warmup(key, instrument=instrument, octaves=1, manner=Manner(fingerings="open"))
    pairs = list(zip(plan.notes, plan.fingers, strict=True))
    for (before, (spot,)), (after, (other,)) in zip(pairs, pairs[1:], strict=False):
        if spot and other and spot.string == other.string and before != after:
            assert spot.finger != other.finger, f"{before[0]} {after[0]}"
