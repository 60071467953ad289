"""The strings of our own violin parts, as a laboratory's implementation of the same rules gave them once.

It knows pitches, lengths and beats alone: a beat is a crotchet, 80 of them a minute, no slurs, no printed fingers. The
table was computed with it for these scores and typed in; strings are counted from the lowest, 1 to 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from excerpts.lefthand.fingering import FingeredNote, finger_notes
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.read_part import read_part
from excerpts.score import open_score

SCORES = Path(__file__).resolve().parents[2] / "scores"

STRINGS = {
    "evening-ferry.musicxml": (
        "222222222222221222122222222222322222233323332232223222222222222222222222122212222222232333"
        "333322322333223222222222222222222233333333333333333332232222222222222222222221222122222222"
        "22232222212221222222222222222221222122222222222122212222"
    ),
    "three-doors-trio.musicxml": (
        "44333333333333333343334444333333333333333332222233333343333344433333333333333333332"
    ),
    "paper-boats.musicxml": "33333333333332223333333333333333344332333333333333332",
    "snail-on-the-stairs.musicxml": "22222222222222222222222333333333333333333322222222222222222222222222",
}


def plain(notes: Sequence[HandNote]) -> list[HandNote]:
    """The single notes with no more than their pitches, lengths and beats."""
    second = 60 / 80
    found: list[HandNote] = []
    for note in notes:
        if note.grace or len(note.pitches) > 1:
            continue
        end = found[-1].onset + found[-1].duration if found else note.onset
        found.append(
            replace(
                note,
                given=(Given(),),
                slurred=False,
                trill=False,
                on_beat=note.within.denominator == 1,
                time=float(note.onset) * second,
                seconds=float(note.duration) * second,
                silence=float(note.onset - end) * second,
            )
        )
    return found


def strings(found: Sequence[FingeredNote]) -> str:
    return "".join(str(one.place.stops[0].string + 1) for one in found if one.place)


@pytest.mark.parametrize("name", STRINGS)
def test_strings_are_those_of_the_reference(name: str) -> None:
    read = read_part(open_score(SCORES / name).part("#1"))
    found = finger_notes(plain(read.notes), read.player, figures=False)
    assert strings(found) == STRINGS[name]


@pytest.mark.parametrize("name", STRINGS)
def test_figures_change_few_strings(name: str) -> None:
    """The same figure gets the same fingers, which is the reason for at most a note in twenty."""
    read = read_part(open_score(SCORES / name).part("#1"))
    found = strings(finger_notes(plain(read.notes), read.player))
    same = sum(one == other for one, other in zip(found, STRINGS[name], strict=True))
    assert same / len(found) >= 0.95
