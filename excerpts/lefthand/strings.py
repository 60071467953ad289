"""Where the notes of one voice lie, as variants and drills ask: the string of each."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.instruments.fingerboard import StringOf
from excerpts.instruments.instrument import Instrument
from excerpts.lefthand.fingering import FingeredNote, finger_notes
from excerpts.lefthand.hand_note import Given
from excerpts.lefthand.hand_notes import notes_of
from excerpts.lefthand.hand_places import Place
from excerpts.lefthand.path import Wishes
from excerpts.lefthand.read_part import USUAL_TEMPO
from excerpts.notes import Voice
from excerpts.sound.performance import TempoMap

SURE: Final = 0.97
"""How sure a string is that need not be called a guess: players agree with 92 of 100 such ones (TNUA data set, IUI
2021), and with 56 of those that are less than 0.6 sure."""


_SAME_PLACE: Final = 1e-9

_LOW: Final = Wishes(positions=frozenset({0, 1}))
"""What a teacher assumes of a line that lies in first position: that it is played there (common practice)."""


@dataclass(frozen=True, slots=True)
class LineHand:
    """The proposed fingering of a voice.

    Attributes:
        low: The notes with their places, in first position where all of them lie in it; by the index of the event.
        free: The same in all positions: how sure a string is.
        measured: How sure a string is was measured on this instrument, or on one that is fingered alike.
    """

    low: dict[int, FingeredNote]
    free: dict[int, FingeredNote]
    measured: bool

    def moves(self) -> list[tuple[int, int]]:
        """Where the hand moves: the event before each move and the event after it; nothing that is told is missed."""
        changes: list[tuple[int, int]] = []
        held: Place | None = None  # the last place with a finger down, which tells where the hand is
        before = -1
        for event, one in self.low.items():
            if one.place is None:
                continue
            if one.place.hand.finger:
                if held is not None and abs(held.hand.place - one.place.hand.place) > _SAME_PLACE:
                    changes.append((before, event))
                held = one.place
            before = event
        return changes

    def reach(self, before: int, after: int) -> float:
        """Positions that the hand moves from one event to another, and strings that it skips on the way."""
        one, other = (self.low.get(event) for event in (before, after))
        if one is None or other is None or one.place is None or other.place is None:
            return 0.0
        first, second = one.place, other.place
        away = max(second.low - first.high, first.low - second.high, 0)
        moved = abs(first.hand.place - second.hand.place) if first.hand.finger and second.hand.finger else 0.0
        return moved + max(0, away - 1)

    def strings(self, event: int) -> tuple[StringOf, ...]:
        """The strings of an event's notes from the lowest up; none for what no hand plays, or for a tied note."""
        one = self.low.get(event)
        if one is None or one.place is None:
            return ()
        free = self.free[event]
        alike = free.place is not None and free.place.low == one.place.low
        return tuple(
            StringOf(stop.string, told=_told(given) or (self.measured and alike and sure >= SURE))
            for stop, given, sure in zip(one.place.stops, one.note.given, free.sure, strict=True)
        )


def _told(given: Given) -> bool:
    return given.string is not None or given.finger is not None


def hand_of(line: Voice, player: Instrument) -> LineHand:
    """Propose a fingering of a voice, at the tempo of its excerpt.

    Args:
        line: The voice.
        player: The instrument.
    """
    speed = line.tempo.quarters_per_minute if line.tempo is not None else USUAL_TEMPO
    notes = notes_of([line], player, TempoMap(((Fraction(0), speed),), speed))
    free = finger_notes(notes, player)
    low = finger_notes(notes, player, _LOW)
    lies_low = all(one.place is None or _is_low(one.place) for one in low)
    return LineHand(
        {one.note.event: one for one in (low if lies_low else free)},
        {one.note.event: one for one in free},
        player.hand.by_letters,
    )


def _is_low(place: Place) -> bool:
    return not place.hand.finger or place.hand.position <= 1
