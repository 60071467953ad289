"""Scales in double stops, and whether a hand can play them.

A double stop lies on neighbouring strings, the lower note on the lower string, each at or above its open
string, and no wider than the hand; an open string needs no finger, so it asks nothing of the hand.
"""

from __future__ import annotations

from dataclasses import dataclass

from excerpts.instruments.instrument import Instrument
from excerpts.instruments.keys import Key
from excerpts.musicxml.pitch import Pitch

Stops = tuple[tuple[Pitch, Pitch], ...]
"""Double stops in order, the lower note first."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a double stop lies: index of its lower string from the lowest, and semitones above each string."""

    string: int
    low: int
    high: int


def thirds(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in thirds; the lower notes are the scale, 14 stops an octave and the last one.

    Args:
        key: The key.
        octave: Octave number of the first tonic.
        octaves: How many octaves up.
    """
    return _in_stops(key, octave, octaves, 0, 2)


def sixths(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in sixths; the upper notes are the scale, so that it begins and ends in the tonic chord.

    Args:
        key: The key.
        octave: Octave number of the first tonic.
        octaves: How many octaves up.
    """
    return _in_stops(key, octave, octaves, -5, 0)


def octaves(key: Key, octave: int, octaves: int) -> Stops:
    """A scale in octaves; the lower notes are the scale.

    Args:
        key: The key.
        octave: Octave number of the first tonic.
        octaves: How many octaves up.
    """
    return _in_stops(key, octave, octaves, 0, 7)


def _in_stops(key: Key, octave: int, octaves: int, low: int, high: int) -> Stops:
    top = 7 * octaves
    way = [(number, False) for number in range(top)] + [(number, True) for number in range(top, -1, -1)]
    return tuple(
        (key.degree(number + low, octave, down=down), key.degree(number + high, octave, down=down))
        for number, down in way
    )


def place_stop(player: Instrument, low: Pitch, high: Pitch) -> Placement | None:
    """Find the strings of a double stop, nearest to the nut; None where no hand can play it."""
    found = [
        placement
        for placement in _placements(player, low, high)
        if _span(placement) <= _hand(player, placement)
    ]
    return min(found, key=lambda placement: max(placement.low, placement.high), default=None)


def why_not(player: Instrument, low: Pitch, high: Pitch) -> str:
    """Say why a double stop cannot be played on that instrument."""
    what = f"{low} and {high} cannot be played together on the {player.name}"
    if low.midi < player.strings[0].midi:
        return f"{what}: {low} lies below its lowest string."
    placements = _placements(player, low, high)
    if not placements:
        return f"{what}: they do not lie on two neighbouring strings."
    nearest = min(placements, key=lambda spot: (_span(spot), spot.high))
    return f"{what}: the hand would have to span {_span(nearest)} semitones, and it spans {_hand(player, nearest)}."


def _placements(player: Instrument, low: Pitch, high: Pitch) -> list[Placement]:
    pairs = zip(player.strings, player.strings[1:], strict=False)
    spots = (
        Placement(index, int(low.midi - lower.midi), int(high.midi - upper.midi))
        for index, (lower, upper) in enumerate(pairs)
    )
    return [spot for spot in spots if spot.low >= 0 and spot.high >= 0]


def _span(placement: Placement) -> int:
    return abs(placement.high - placement.low) if placement.low and placement.high else 0


def _hand(player: Instrument, placement: Placement) -> int:
    fingers = [spot for spot in (placement.low, placement.high) if spot]
    return player.hand.span_at(min(fingers, default=0))
