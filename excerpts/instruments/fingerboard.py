"""Where notes lie on the strings: the string of each note of a passage, and the double stops that a hand can play.

A string number tells it. A finger tells it where only one string has that finger at that note in first position.
Else the string stated last holds, where a caller knows it and a hand can have the note there; else the highest string
that has the note is assumed: common practice, no source. A double stop lies on neighbouring strings, the lower note on
the lower string, each at or above its open string, and no wider than the hand; an open string needs no finger, so it
asks nothing of the hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from excerpts.instruments.instrument import FIRST_POSITION, Instrument
from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Head


@dataclass(frozen=True, slots=True)
class StringOf:
    """The string of a note: its index from the lowest, and whether the music tells it."""

    index: int
    told: bool


def string_of(head: Head, player: Instrument, stated: int | None = None) -> StringOf | None:
    """The string that a note is played on; None for what no string of the instrument has.

    Args:
        head: The note with its marks.
        player: Whose strings.
        stated: The string that a number before it states, by its index; the note stays there if a hand can have it so.
    """
    if head.pitch is None:
        return None
    count = len(player.strings)
    number = _mark(head, "string")
    if number.isdecimal() and len(number) == 1 and 1 <= int(number) <= count:
        return StringOf(count - int(number), told=True)
    having = [place for place, open_ in enumerate(player.strings) if open_.midi <= head.pitch.midi]
    finger = finger_of(head)
    fingered = [place for place in having if _at(head.pitch, player, place, finger)]
    if len(fingered) == 1:
        return StringOf(fingered[0], told=True)
    held = [place for place in having if finger in {"", "0"} or _hands(head.pitch, player, place, finger)]
    if stated is not None and stated in held:
        return StringOf(stated, told=True)
    return StringOf(held[-1], told=False) if held else None


def places_of(head: Head, player: Instrument, string: int | None = None) -> frozenset[int]:
    """Where the first finger may be while the hand plays a note, in semitones above the open string.

    Args:
        head: The note with its marks; a finger and a string number hold, else it may be any.
        player: Whose hand.
        string: The string that words tell, by its index; None where none do.

    Returns:
        The places; none for an open string.
    """
    finger, pitch = finger_of(head), head.pitch
    number = _mark(head, "string")
    if number.isdecimal() and 1 <= int(number) <= len(player.strings):
        string = len(player.strings) - int(number)
    strings = range(len(player.strings)) if string is None else (string,)
    if (
        pitch is None
        or finger == "0"
        or (not finger and any(pitch.midi == player.strings[at].midi for at in strings))
    ):
        return frozenset()
    fingers = (finger,) if finger else ("1", "2", "3", "4")
    return frozenset().union(*(_hands(pitch, player, at, one) for at in strings for one in fingers))


def _hands(pitch: Pitch, player: Instrument, string: int, finger: str) -> frozenset[int]:
    """Where the first finger may be while a finger stops a note on a string."""
    above = int(pitch.midi - player.strings[string].midi)
    return frozenset(
        above - from_first
        for form in player.hand.forms
        for from_first, fingers in form.items()
        if int(finger) in fingers and above >= 1 and above - from_first >= 1
    )


def finger_of(head: Head) -> str:
    """The finger written at a note, "" where there is none or more than one."""
    text = _mark(head, "fingering")
    return text if text in {"0", "1", "2", "3", "4"} else ""


def _at(pitch: Pitch, player: Instrument, string: int, finger: str) -> bool:
    """Whether a finger has the note on a string in first position."""
    above = int(pitch.midi - player.strings[string].midi)
    if not finger:
        return False
    if finger == "0":
        return above == 0
    return above > 0 and any(
        int(finger) in form.get(above - FIRST_POSITION, ()) for form in player.hand.forms
    )


def _mark(head: Head, name: str) -> str:
    return next((mark.text for mark in head.marks if mark.name == name), "")


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a double stop lies: index of its lower string from the lowest, and semitones above each string."""

    string: int
    low: int
    high: int


def place_stop(player: Instrument, low: Pitch, high: Pitch) -> Placement | None:
    """Find the strings of a double stop, nearest to the nut; None where no hand can play it."""
    placements = [
        placement
        for placement in _placements(player, low, high)
        if _span(placement) <= _hand(player, placement)
    ]
    return min(placements, key=lambda placement: max(placement.low, placement.high), default=None)


def why_not(player: Instrument, low: Pitch, high: Pitch) -> str:
    """Say why a double stop cannot be played on that instrument."""
    what = f"{low} and {high} cannot be played together on the {player.name}"
    if low.midi < player.strings[0].midi:
        return f"{what}: {low} lies below its lowest string."
    spans = least_span(player, low, high)
    if spans is None:
        return f"{what}: they do not lie on two neighbouring strings."
    return f"{what}: the hand would have to span {spans[0]} semitones, and it spans {spans[1]}."


def least_span(player: Instrument, low: Pitch, high: Pitch) -> tuple[int, int] | None:
    """Semitones that a hand must span for a double stop where that is least, and those that it spans at rest there.

    None where the notes do not lie on two neighbouring strings.
    """
    placements = _placements(player, low, high)
    nearest = min(placements, key=lambda spot: (_span(spot), spot.high), default=None)
    return None if nearest is None else (_span(nearest), _hand(player, nearest))


def _placements(player: Instrument, low: Pitch, high: Pitch) -> tuple[Placement, ...]:
    return _spots(player.strings, low, high)


@lru_cache(maxsize=4096)
def _spots(strings: tuple[Pitch, ...], low: Pitch, high: Pitch) -> tuple[Placement, ...]:
    """Kept, since a scale in double stops asks for the same ones from every starting note that is tried."""
    spots = (
        Placement(index, int(low.midi - lower.midi), int(high.midi - upper.midi))
        for index, (lower, upper) in enumerate(pairwise(strings))
    )
    return tuple(spot for spot in spots if spot.low >= 0 and spot.high >= 0)


def _span(placement: Placement) -> int:
    return abs(placement.high - placement.low) if placement.low and placement.high else 0


def _hand(player: Instrument, placement: Placement) -> int:
    fingers = [spot for spot in (placement.low, placement.high) if spot]
    return player.hand.span_at(min(fingers, default=0))
