"""Double stops and chords that no hand plays, or only with a stretch beyond its frame.

The frame of a hand is what its first and last finger span at rest (`Hand.spans`); the tables name its source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Excerpt, Position, bar_name
from excerpts.instruments.fingerboard import least_span, place_stop, why_not
from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.hand_note import HandNote
from excerpts.lefthand.hand_notes import notes_of
from excerpts.lefthand.hand_places import Place, places_of
from excerpts.lefthand.read_part import USUAL_TEMPO, beat_text
from excerpts.notes import read_lines
from excerpts.score import Part
from excerpts.sound.performance import TempoMap

_STRETCH: Final = 4
"""Semitones beyond its frame that a large hand stretches on violin and viola: a tenth. Common practice, no source."""


def wide_stops(excerpt: Excerpt, part: Part, player: Instrument) -> Iterator[str]:
    """What is to be said of the double stops in the boxes of an excerpt, each with bar and beat; equal ones once.

    Args:
        excerpt: Music of a part; where it has no boxes, all of it.
        part: The part.
        player: Who plays it.
    """
    if b"<chord" not in excerpt.xml and b"<backup" not in excerpt.xml:
        return
    clock = TempoMap(((Fraction(0), USUAL_TEMPO),), USUAL_TEMPO)
    reported: set[tuple[int, ...]] = set()
    for note in notes_of(read_lines(excerpt), player, clock):
        if len(note.pitches) < 2 or note.key in reported or not _in_boxes(excerpt, note):
            continue
        if said := stop_trouble(note, places_of(note, player), player):
            reported.add(note.key)
            beat = beat_text(part, excerpt.bars[note.measure].place - 1, note.within)
            yield f"{bar_name(excerpt.bars, note.measure)}{f' beat {beat}' if beat else ''}: {said}"


def _in_boxes(excerpt: Excerpt, note: HandNote) -> bool:
    at = Position(note.measure, note.within)
    return not excerpt.boxes or any(box.start <= at < box.end for box in excerpt.boxes)


def stop_trouble(note: HandNote, places: Sequence[Place], player: Instrument) -> str:
    """Why a double stop or chord is beyond a hand, or how far it must stretch; "" where it lies in the frame.

    Args:
        note: The chord.
        places: The places that count: all of a hand, or the one that was chosen.
        player: Whose hand.
    """
    names = " and ".join(map(str, note.pitches))
    if not places:
        return _beyond(note, names, player)
    over = [(span, frame) for span, frame in (_span(place, player) for place in places) if span > frame]
    if len(over) < len(places):
        return ""
    return _stretched(names, player, *min(over))


def _stretched(names: str, player: Instrument, span: int, frame: int) -> str:
    return (
        f"{names} can only be had with a stretch on the {player.name}: "
        f"the hand would have to span {span} semitones, and its frame is {frame}"
    )


def _beyond(note: HandNote, names: str, player: Instrument) -> str:
    low = note.pitches[0]
    what = f"{names} cannot be played on the {player.name}"
    if low.midi < player.strings[0].midi:
        return f"{what}: {low} lies below its lowest string, {player.strings[0]}"
    if len(note.pitches) > len(player.strings):
        return f"{what}: it has {len(player.strings)} strings"
    if len(note.pitches) == 2 and place_stop(player, *note.pitches) is None:
        spans = least_span(player, *note.pitches)
        if spans and player.hand.by_letters and spans[0] <= spans[1] + _STRETCH:
            return _stretched(names, player, *spans)
        return why_not(player, *note.pitches).rstrip(".")
    return f"{what} at once, with one hand on neighbouring strings"


def _span(place: Place, player: Instrument) -> tuple[int, int]:
    """Semitones from the lowest to the highest finger of a place, and those of the frame there."""
    stopped = [stop.above for stop in place.stops if stop.finger]
    if len(stopped) < 2:
        return 0, 0
    return max(stopped) - min(stopped), player.hand.span_at(min(stopped))
