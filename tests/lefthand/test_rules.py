"""The rules one by one, and fingerings as they are taught: common practice, no source, where no other is named."""

from __future__ import annotations

import pytest

from excerpts.errors import InputError
from excerpts.instruments.instrument import INSTRUMENTS, in_hand
from excerpts.lefthand import rules
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.path import NO_WISHES, Wishes
from tests.lefthand.hands import fingers, notes, positions, reading, told

WISHES = {
    "dark": Wishes(tone="dark"),
    "bright": Wishes(tone="bright"),
    "never_open": Wishes(open_strings="never"),
    "always_open": Wishes(open_strings="always"),
    "small_hand": Wishes(small_hand=True),
    "untaught": Wishes(positions=frozenset({1})),
    "scale_first": Wishes(exercise="scale"),
    "scale_string": Wishes(exercise="scale"),
    "exercise_spelt": Wishes(exercise="scale"),
    "exercise_slid": Wishes(exercise="scale"),
}
SHOWN = {
    "height_low": ("violin", "C6 F5 F5", 0.125, "1:3 2:3 2:3", "1:1 2:1 2:1"),
    "below_short": ("violin", "A4 F4 E4", 0.125, "2:0 3:2 3:1", "3:4 3:2 3:1"),
    "even_position": ("violin", "Bb5 C6 Bb5", 0.5, "1:2 1:3 1:2", "1:1 1:2 1:1"),
    "open_long": ("violin", "E5 A4 F#4", 0.5, "2:3 3:3 3:1", "2:3 2:0 3:1"),
    "open_long_low": ("bass", "A2 B2 G#3", 1.0, "3:0 3:1 2:4", "3:0 3:2 1:1"),
    "fourth": ("violin", "G3 D4 G3", 0.125, "4:0 4:2 4:0", "4:0 4:4 4:0"),
    "respelt": ("violin", "Bb5 C6 Bb5", 0.5, "1:2 1:3 1:2", "1:1 1:2 1:1"),
    "e_long": ("violin", "Bb4 F5 G5", 0.5, "3:3 2:3 2:4", "2:1 1:1 1:2"),
    "e_low": ("violin", "Bb4 F5 G5", 0.5, "3:3 2:3 2:4", "2:1 1:1 1:2"),
    "shift": ("violin", "D6 B6 A#6", 0.5, "2:2 1:3 1:2", "1:1 1:3 1:2"),
    "shift_size": ("violin", "E6 D6 G5", 0.125, "1:3 1:2 2:2", "1:3 1:2 1:2"),
    "shift_fast": ("cello", "G3 Eb4 Bb4", 0.25, "3:2 2:3 1:3", "2:1 2:3 1:3"),
    "shift_offbeat": ("violin", "D6 F6 A6", 0.5, "1:1 1:3 1:4", "1:1 1:2 1:4"),
    "shift_held": ("cello", "C#3 D3 B3", 1.0, "3:1 2:0 2:4", "3:1 3:2 2:4"),
    "cross": ("violin", "G3 D4 G3", 0.125, "4:0 4:2 4:0", "4:0 3:0 4:0"),
    "cross_skip": ("cello", "C#3 D3 B3", 1.0, "3:1 2:0 2:4", "3:1 3:2 2:4"),
    "cross_step": ("violin", "C4 D4 F4", 0.25, "4:2 4:3 3:1", "4:3 3:0 3:2"),
    "cross_step_low": ("bass", "A2 G2 A2", 0.125, "4:4 4:1 4:4", "3:0 4:4 3:0"),
    "cross_slow": ("violin", "G3 E4 F4", 0.5, "4:0 4:3 4:4", "4:0 3:1 3:2"),
    "repeat_change": ("viola", "Ab3 Ab3 F3", 0.125, "3:1 3:1 4:3", "4:3 4:3 4:1"),
    "half_position": ("violin", "B3 A3 G#3", 0.125, "4:2 4:1 4:1", "4:3 4:2 4:1"),
    "shift_slurred": ("violin", "E6 C7 C7", 0.125, "2:2 1:3 1:3", "1:1 1:3 1:3"),
    "skip_slurred": ("violin", "A3 C4 A4 Eb5", 0.25, "4:1 4:3 3:4 2:4", "4:1 4:3 2:0 2:4"),
    "unsettled": ("cello", "F#3 E3 F#3", 0.25, "2:3 2:1 2:3", "2:4 2:2 2:4"),
    "slid": ("bass", "F4 E4", 0.125, "1:3 1:2", "1:2 1:2"),
    "extension": ("cello", "A2 Ab2 F#2", 0.25, "4:4 4:3 4:1", "4:3 4:2 4:1"),
    "torn": ("cello", "F#3 Bb3 Ab3", 1.0, "2:1 2:4 2:2", "2:1 2:4 2:3"),
    "scale_first": ("cello", "E4 F4 G4 A4", 0.125, "1:1 1:2 1:1 1:2", "1:1 1:2 1:2 1:3"),
    "scale_string": (
        "viola",
        "F3 G3 A3 Bb3 C4 D4",
        0.5,
        "4:2 4:3 4:4 3:1 3:2 3:3",
        "4:3 4:4 3:1 3:2 3:3 3:4",
    ),
    "exercise_spelt": ("violin", "Ab5 A5 B5", 1.0, "1:1 1:1 1:2", "1:1 1:2 1:3"),
    "exercise_slid": ("viola", "Eb3 F3 F#3 Ab3", 1.0, "4:1 4:2 4:1 4:3", "4:1 4:2 4:2 4:4"),
    "hand_changed": ("cello", "F#4 A4 C#5", 0.5, "2:2 1:T 1:2", "1:1 1:3 1:2"),
    "thumb": ("bass", "B3 Fb4 D5", 1.0, "2:1 1:1 1:3", "3:3 1:T 1:3"),
    "low_thumb": ("cello", "F#4 A4 C#5", 0.5, "2:2 1:T 1:2", "2:3 1:1 1:3"),
    "dark": ("violin", "C5 A4 C5", 0.5, "3:4 3:2 3:4", "2:2 2:0 2:2"),
    "bright": ("violin", "G3 D4 G3", 0.125, "4:0 3:0 4:0", "4:0 4:2 4:0"),
    "never_open": ("violin", "C5 A4 C5", 0.5, "3:4 3:2 3:4", "2:2 2:0 2:2"),
    "always_open": ("violin", "G3 D4 G3", 0.125, "4:0 3:0 4:0", "4:0 4:2 4:0"),
    "small_hand": ("cello", "G#2 E3 F#3", 0.5, "3:1 2:2 2:4", "3:1 2:1 2:3"),
    "untaught": ("viola", "Eb5 F5 Eb5", 0.5, "1:4 1:4 1:4", "1:2 1:3 1:2"),
    "stretched_stop": (
        "violin",
        "A3+A4 B3+B4 C4+C5",
        0.5,
        "4:1+3:4 4:1+3:4 4:1+3:4",
        "4:1+3:4 4:1+3:3 4:1+3:4",
    ),
    "bariolage": (
        "violin",
        "A4 F5 A4 E5 A4 D5 A4 C5",
        0.125,
        "2:0 1:1 2:0 1:0 2:0 2:3 2:0 2:2",
        "2:0 2:4 3:3 2:3 3:3 2:2 2:0 2:1",
    ),
    "bariolage_beside": (
        "violin",
        "A4 F5 A4 E5 A4 D5 A4 C5",
        0.125,
        "2:0 1:1 2:0 1:0 2:0 2:3 2:0 2:2",
        "2:0 2:4 2:0 2:3 2:0 2:2 2:0 2:1",
    ),
    "above_first": ("bass", "A3 D3 G#2", 0.5, "1:1 2:0 4:4", "2:4 2:0 4:1"),
}
"""For each rule: player, notes, seconds of each, the fingering with the rule, and without it."""

IN_SCORES = {"trill", "mark"}
"""Rules that are shown by what stands in a score, further down."""


def drop(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rules, "RULES", tuple(rule for rule in rules.RULES if rule.name != name))


def test_every_rule_is_shown_and_says_why() -> None:
    assert {rule.name for rule in rules.RULES} == SHOWN.keys() | IN_SCORES
    assert all(rule.weight > 0 and rule.why for rule in rules.RULES)
    assert {rule.what for rule in rules.RULES} == {*rules.PLACE_FACTS, *rules.STEP_FACTS}
    assert {rule.when for rule in rules.RULES} == {*rules.WHENS}


@pytest.mark.parametrize("name", SHOWN)
def test_a_rule_makes_the_difference(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    player, music, seconds, with_it, without = SHOWN[name]
    wishes, slurred = WISHES.get(name, NO_WISHES), name.endswith("_slurred")
    assert fingers(music, player, wishes, seconds, slurred) == with_it
    drop(name, monkeypatch)
    assert fingers(music, player, wishes, seconds, slurred) == without


def in_score(bar: str) -> str:
    read = reading(bar)
    return told(finger_notes(read.notes, read.player))


def test_a_trill_is_neither_on_an_open_string_nor_on_the_fourth_finger(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bar = "G4:1 A4:1/2[<notations><ornaments><trill-mark/></ornaments></notations>] G4:1/2 F#4:2"
    assert in_score(bar).split()[1][-1] in "123"
    drop("trill", monkeypatch)
    assert in_score(bar).split()[1][-1] in "04"


def test_what_is_marked_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    bar = "B4:1 D5:1[<notations><technical><string>3</string></technical></notations>] E5:1 r:1"
    assert in_score(bar).split()[1].startswith("3:")
    drop("mark", monkeypatch)
    assert in_score(bar).split()[1].startswith("2:")


FIRST_POSITION = frozenset({1})
TAUGHT = {
    "a scale on open strings": (
        "violin", "G3 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5",
        Wishes(FIRST_POSITION, open_strings="always"),
        "4:0 4:1 4:2 4:3 3:0 3:1 3:2 3:3 2:0 2:1 2:2 2:3 1:0 1:1 1:2",
    ),
    "a scale with fourth fingers": (
        "violin", "G3 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5",
        Wishes(FIRST_POSITION, open_strings="never"),
        "4:0 4:1 4:2 4:3 4:4 3:1 3:2 3:3 3:4 2:1 2:2 2:3 2:4 1:1 1:2",
    ),
    "a viola's scale with fourth fingers": (
        "viola", "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4 A4",
        Wishes(FIRST_POSITION, open_strings="never"),
        "4:0 4:1 4:2 4:3 4:4 3:1 3:2 3:3 3:4 2:1 2:2 2:3 2:4",
    ),
    "a chromatic run: a finger for each letter": (
        "violin", "A4 A#4 B4 C5 C#5 D5 D#5 E5", NO_WISHES, "2:0 2:1 2:1 2:2 2:2 2:3 2:3 2:4",
    ),
    "octaves": (
        "violin", "A3+A4 B3+B4 C4+C5", NO_WISHES, "4:1+3:4 4:1+3:4 4:1+3:4",
    ),
    "sixths": ("violin", "B3+G4 C4+A4 D4+B4", Wishes(FIRST_POSITION), "4:2+3:3 4:3+3:4 3:0+2:1"),
    "a fifth takes one finger": ("violin", "B4+F#5", Wishes(FIRST_POSITION), "2:1+1:1"),
    "a chord of four": ("violin", "G3+D4+B4+G5", NO_WISHES, "4:0+3:0+2:1+1:2"),
    "cello, first position": (
        "cello", "C2 D2 E2 F2 G2 A2 B2 C3 D3 E3 F3 G3 A3 B3 C4 D4", NO_WISHES,
        "4:0 4:1 4:3 4:4 3:0 3:1 3:3 3:4 2:0 2:1 2:2 2:4 1:0 1:1 1:2 1:4",
    ),
    "cello, stretched": (
        "cello", "D2 E2 F#2 G2 A2 B2 C#3 D3", NO_WISHES, "4:1 4:2 4:4 3:0 3:1 3:2 3:4 2:0",
    ),
    "cello, first finger stretched back": ("cello", "A3 Bb3 C4 D4 C4 Bb3 A3", NO_WISHES, "1:0 1:1 1:2 1:4 1:2 1:1 1:0"),
    "cello, thumb": ("cello", "A4 B4 C#5 D5", NO_WISHES, "1:T 1:1 1:2 1:3"),
    "cello, an octave in thumb position": ("cello", "A3+A4", NO_WISHES, "2:T+1:3"),
    "bass, half position: 1-2-4": (
        "bass", "G3 Ab3 A3 Bb3 A3 Ab3 G3", Wishes(frozenset({0, 1})), "1:0 1:1 1:2 1:4 1:2 1:1 1:0",
    ),
    "bass, thumb": ("bass", "G4 A4 B4 C5 B4 A4 G4", NO_WISHES, "1:T 1:1 1:2 1:3 1:2 1:1 1:T"),
    "bass, a scale over the strings": (
        "bass", "F2 G2 A2 Bb2 C3 D3 E3 F3", NO_WISHES, "4:1 4:4 3:0 3:1 3:4 2:0 2:2 2:4",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", TAUGHT)
def test_fingerings_as_they_are_taught(what: str) -> None:
    player, music, wishes, wanted = TAUGHT[what]
    assert fingers(music, player, wishes) == wanted


def test_a_bass_may_be_taught_1_3_4() -> None:
    low = Wishes(frozenset({0, 1}))
    half = notes("G3 Ab3 A3 Bb3 A3 Ab3 G3")
    taught = in_hand(INSTRUMENTS["bass"], "1-3-4")
    assert told(finger_notes(half, taught, low), "bass") == "1:0 1:1 1:3 1:4 1:3 1:1 1:0"
    assert in_hand(INSTRUMENTS["bass"], "1-2-4").hand is INSTRUMENTS["bass"].hand
    with pytest.raises(InputError, match="on the viola no hand is called 1-3-4"):
        in_hand(INSTRUMENTS["viola"], "1-3-4")


def test_an_arpeggio_climbs_by_positions() -> None:
    found = positions("G3 B3 D4 G4 B4 D5 G5 B5 D6 G6 B6 D7")
    assert found == sorted(found)
    assert found[-1] >= 7


def test_first_to_fourth_finger_of_a_position_is_a_staff_step_each() -> None:
    """The fifth position of a string is the first of the next (a violin positions page): the same letters."""
    strings = INSTRUMENTS["violin"].strings
    assert [str(string) for string in strings] == ["G3", "D4", "A4", "E5"]
    low = fingers("E4 F#4 G#4 A4", wishes=Wishes(frozenset({5}), tone="dark"))
    high = fingers("E4 F#4 G#4 A4", wishes=Wishes(frozenset({1})))
    assert (low, high) == ("4:1 4:2 4:3 4:4", "3:1 3:2 3:3 3:4")
