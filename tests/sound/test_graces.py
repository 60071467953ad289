"""Grace notes as they are struck, by hand and against music21's reading of random scores (default tier)."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.score import score_from_bytes
from excerpts.sound.perform import perform
from tests.music import bars_of
from tests.score.random_scores import make_score
from tests.score.test_against_music21 import parsed

HALF = Fraction(1, 2)
EIGHTH = Fraction(1, 8)

CROWDED = frozenset({"graces", "closing graces", "graces elsewhere"})
FEATURES = (
    "voices",
    "staves",
    "chords",
    "rests",
    "triplets",
    "ties",
    "pickup",
    "metres",
    "clefs",
    "split bar",
    "trills",
    "dynamics",
    "hairpins",
    "slurs",
    "words",
    "marks",
)


def grace(pitch: str, staff: str = "") -> str:
    step, octave = pitch[0], pitch[1:]
    where = f"<staff>{staff}</staff>" if staff else ""
    return (
        f"<note><grace/><pitch><step>{step}</step><octave>{octave}</octave></pitch><voice>1</voice>"
        f"<type>eighth</type>{where}</note>"
    )


def heard(data: bytes, address: str) -> list[tuple[Fraction, Fraction, int]]:
    passage = score_from_bytes(data, "test").part("#1").passage(address).cut(1)
    return sorted((note.onset, note.length, int(note.pitch)) for note in perform(passage).notes)


def test_a_grace_note_at_a_bars_end_and_one_at_the_next_bars_start() -> None:
    """The first takes its time from the note before the barline, the second from the note behind it."""
    data = bars_of(f"C4:4 {grace('D4')}", f"{grace('E4')} F4:4")
    assert heard(data, "1-2") == [
        (Fraction(0), 4 - EIGHTH, 60),
        (4 - EIGHTH, EIGHTH, 62),
        (Fraction(4), EIGHTH, 64),
        (4 + EIGHTH, 4 - EIGHTH, 65),
    ]


def test_a_box_begins_with_its_own_grace_note() -> None:
    """A box of the second bar has the grace note behind the barline, not the one in front of it."""
    data = bars_of(f"C4:4 {grace('D4')}", f"{grace('E4')} F4:4")
    assert heard(data, "2") == [(Fraction(0), EIGHTH, 64), (EIGHTH, 4 - EIGHTH, 65)]


def test_a_grace_note_on_the_other_staff_leans_on_the_note_of_its_voice() -> None:
    staves = "<attributes><staves>2</staves></attributes>"
    data = bars_of(f"{staves} {grace('G3', '2')} C4:4")
    assert heard(data, "1") == [(Fraction(0), EIGHTH, 55), (EIGHTH, 4 - EIGHTH, 60)]


def test_a_grace_note_before_a_rest_ends_the_note_before_it() -> None:
    data = bars_of(f"C4:2 {grace('D4')} r:2")
    assert heard(data, "1") == [(Fraction(0), 2 - EIGHTH, 60), (2 - EIGHTH, EIGHTH, 62)]


def test_a_grace_note_behind_a_rest_sounds_before_the_barline() -> None:
    """It does not lengthen or cut a note that was over long before."""
    data = bars_of(f"C4:1 r:3 {grace('D4')}", "E4:4")
    assert heard(data, "1-2") == [
        (Fraction(0), Fraction(1), 60),
        (4 - EIGHTH, EIGHTH, 62),
        (Fraction(4), Fraction(4), 64),
    ]


def test_a_note_held_over_a_grace_note_is_struck_once() -> None:
    start, stop = (
        "[<notations><tied type='start'/></notations>]",
        "[<notations><tied type='stop'/></notations>]",
    )
    tied = bars_of(
        f"C4:4{start} {grace('D4')}".replace("'", '"'),
        f"C4:4{stop}".replace("'", '"'),
    )
    assert sorted(number for _, _, number in heard(tied, "1-2")) == [60, 62]


def test_one_tied_note_of_a_chord_is_held_through_the_grace_note_that_ends_the_other() -> None:
    data = bars_of(
        f'F4+E4:4[<notations><tied type="start"/></notations>] {grace("D4")}',
        'F4:4[<notations><tied type="stop"/></notations>]',
    ).replace(
        b'<chord/><pitch><step>E</step><octave>4</octave></pitch><duration>96</duration><tie type="start"/>',
        b"<chord/><pitch><step>E</step><octave>4</octave></pitch><duration>96</duration>",
    )
    assert [number for _, _, number in heard(data, "1-2")] == [64, 65, 62]


def struck(stream: Any) -> list[tuple[int, Fraction]]:
    """MIDI number and onset of each note that music21 finds struck, grace notes at the onset of their place."""
    found = []
    for part in stream.parts:
        for note in part.flatten().notes:
            numbers = set()
            for one in getattr(note, "notes", (note,)):
                tie = one.tie or (note.tie if one is note else None)
                if tie is None or tie.type == "start":
                    numbers.add(round(one.pitch.ps))
            onset = Fraction(note.getOffsetInHierarchy(part)).limit_denominator(1000)
            found += [(number, onset) for number in numbers]
    return sorted(found)


@settings(max_examples=60, deadline=None)
@given(
    features=st.frozensets(st.sampled_from(FEATURES)),
    bars=st.integers(1, 5),
    seed=st.integers(0, 10_000),
)
def test_every_struck_note_of_random_scores_sounds(features: frozenset[str], bars: int, seed: int) -> None:
    """Outside check: music21 finds the same notes struck, each within half a quarter note of ours."""
    data = make_score(seed, bars, features | CROWDED)
    excerpt = score_from_bytes(data, "random").part("#1").passage(f"@1-@{bars}").cut(0)
    ours = sorted((round(note.pitch), note.onset) for note in perform(excerpt).notes)
    theirs = struck(parsed(excerpt.xml))
    assert [number for number, _ in ours] == [number for number, _ in theirs]
    assert all(abs(mine - other) <= HALF for (_, mine), (_, other) in zip(ours, theirs, strict=True))
