"""Fingers of warm-ups beyond first position, as scales and arpeggios are usually taught: by the rules of the left hand.

Up a string the hand moves on to its first finger, each letter has its own finger, and the way down mirrors the way up
where the notes do. A finger is printed where the hand begins or moves and where the string changes; and the
string's numeral beside it where that is above first position. Common practice, no source: schools differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from excerpts.excerpt import Tempo
from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.fingering import finger_notes
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.hand_places import Place
from excerpts.lefthand.path import Wishes
from excerpts.warmups.note_layout import Layout
from excerpts.warmups.scale_fingering import Chord, Fingers, Spot

_EXERCISES: Final[dict[str, Literal["scale", "arpeggio"]]] = {
    "scale": "scale",
    "acceleration": "scale",
    "arpeggio": "arpeggio",
    "dominant-seventh": "arpeggio",
    "diminished-seventh": "arpeggio",
}
"""What the patterns are fingered like; the others by the rules for any music."""


def usual_fingers(
    player: Instrument,
    pattern: str,
    notes: Sequence[Chord],
    layout: Layout,
    tempo: Tempo,
    taught: Sequence[int] = (),
) -> Fingers:
    """Finger a warm-up as it is usually taught: the fingers that are printed.

    Args:
        player: The instrument.
        pattern: Name of the pattern.
        notes: The notes in order.
        layout: How they are laid out.
        tempo: How fast they are.
        taught: The positions that the player was taught; empty for all.
    """
    wishes = wishes_of(pattern, taught)
    struck = timed(notes, layout, tempo)
    half = (len(struck) + 1) // 2
    mirrored = [note.pitches for note in struck] == [note.pitches for note in reversed(struck)]
    fingered = finger_notes(
        struck[:half] if mirrored else struck, player, wishes, figures=not wishes.exercise
    )
    places = [one.place for one in fingered]
    if mirrored:
        places += places[-2::-1] if len(struck) % 2 else places[::-1]
    return tuple(_printed(notes, places))


def wishes_of(pattern: str, taught: Sequence[int] = ()) -> Wishes:
    """What a pattern asks of the hand."""
    return Wishes(positions=frozenset(taught) or None, exercise=_EXERCISES.get(pattern, ""))


def timed(notes: Sequence[Chord], layout: Layout, tempo: Tempo) -> list[HandNote]:
    """The notes of a warm-up as the left hand has them."""
    second = 60 / float(tempo.quarters_per_minute)
    return [
        HandNote(
            tuple(sorted(chord, key=lambda pitch: pitch.midi)),
            (Given(),) * len(chord),
            onset=onset,
            time=float(onset) * second,
            seconds=float(length) * second,
            on_beat=onset % layout.beat == 0,
            duration=length,
        )
        for chord, onset, length in zip(notes, layout.onsets, layout.lengths, strict=True)
    ]


def _printed(notes: Sequence[Chord], places: Sequence[Place | None]) -> Iterator[tuple[Spot | None, ...]]:
    """The fingers that a player needs of each note."""
    position, string = 1, -1
    for chord, place in zip(notes, places, strict=True):
        if place is None:
            yield (None,) * len(chord)
            continue
        moved = bool(place.hand.finger) and place.hand.position != position
        stretched = any(stop.extended for stop in place.stops)
        if not (moved or stretched or place.low != string):
            yield (None,) * len(chord)
            continue
        numeral = place.low != string and place.hand.position > 1
        yield tuple(Spot(stop.string, stop.finger, numeral and bool(stop.finger)) for stop in place.stops)
        position = place.hand.position if place.hand.finger else position
        string = place.low
