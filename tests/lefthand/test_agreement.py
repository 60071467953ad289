"""How often a fingering agrees with the fingers and strings that our own scores print, which it does not see.

What this is: fingers that were written into invented school pieces, for one player each, some of them against the usual
("sul G", a first-year player's open strings). It is no measure of agreement with players: music21's corpus has no
printed fingers but a pianist's, and the fingerings of ten violinists by which the rules were weighed are not here.

Found: 73 of 100 fingers, and 78 of 100 strings that the printed fingers imply. The test only tells a change for the
worse.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from excerpts.errors import InputError
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.hand_note import Given
from excerpts.lefthand.read_part import PartNotes, read_part
from excerpts.score import open_score
from excerpts.system.resources import scores

FEWEST = 400
"""Printed fingers, at least: with less the shares would say nothing."""


def agreement(read: PartNotes) -> Counter[str]:
    """Printed fingers; how many are those proposed without them; and how many lie on the proposed string."""
    hidden = [
        replace(note, given=tuple(Given(harmonic=one.harmonic) for one in note.given)) for note in read.notes
    ]
    counts: Counter[str] = Counter()
    for guess, kept in zip(
        finger_notes(hidden, read.player), finger_notes(read.notes, read.player), strict=True
    ):
        if guess.place is None or kept.place is None:
            continue
        for one, stop, wanted in zip(kept.note.given, guess.place.stops, kept.place.stops, strict=True):
            if one.finger is not None:
                counts["printed"] += 1
                counts["finger"] += stop.finger == one.finger
                counts["string"] += stop.string == wanted.string
    return counts


@pytest.mark.slow
def test_printed_fingers_are_often_those_that_are_proposed() -> None:
    counts: Counter[str] = Counter()
    for path in sorted((*scores().glob("*.mxl"), *scores().glob("*.musicxml"))):
        opened = open_score(path)
        for info in opened.parts:
            try:
                read = read_part(opened.part(f"#{info.place}"))
            except InputError:
                continue  # no part for one string instrument
            counts += agreement(read)
    assert counts["printed"] >= FEWEST
    assert counts["finger"] / counts["printed"] >= 0.7
    assert counts["string"] / counts["printed"] >= 0.75
