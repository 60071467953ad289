"""Fingers that the teacher gives, one a note: "0123 0123 0123 0123 4", with string numerals where wanted."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import NUMERALS, Instrument
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups.fingering import UNTOLD, Chord, Fingers, Spot

_TOKEN: Final = re.compile(rf"\s*({'|'.join(sorted(NUMERALS, key=len, reverse=True))}|[0-4])")
_EXAMPLE: Final = "Write one for each note up to the top: 'IV 0123 III 0123', 0 for the open string."


def given(player: Instrument, notes: Sequence[Chord], text: str) -> Fingers:
    """Put the teacher's fingers on the notes; the way down mirrors the way up.

    Args:
        player: The instrument.
        notes: Single notes in order.
        text: A finger for each note up to the top, or for all notes; a numeral tells the string from there on.

    Raises:
        WarmupError: It is not a list of fingers, has too many or too few, or cannot be played.
    """
    if any(len(chord) > 1 for chord in notes):
        raise WarmupError(
            "fingers one by one are for single notes.", hint="Ask for the first position instead."
        )
    pitches = [chord[0] for chord in notes]
    told = _told(player, text)
    top = max(range(len(pitches)), key=lambda index: pitches[index].midi) + 1
    if len(told) == top and 2 * top - 1 == len(pitches):
        told = [*told, *_mirrored(told)]
    if len(told) != len(pitches):
        raise WarmupError(
            f"there are {len(told)} fingers for {top} notes up to the top ({len(pitches)} in all).",
            hint=_EXAMPLE,
        )
    return tuple((spot,) for spot in _placed(player, pitches, told))


_Told = tuple[int, int | None]
"""A finger, and the string that is told at it."""


def _told(player: Instrument, text: str) -> list[_Told]:
    found: list[_Told] = []
    string: int | None = None
    place = 0
    stripped = text.strip()
    while place < len(stripped):
        match = _TOKEN.match(stripped, place)
        if match is None:
            raise WarmupError(
                f"'{text}' is not a list of fingers: {stripped[place:].strip()[0]!r}.", hint=_EXAMPLE
            )
        place = match.end()
        if match[1] in NUMERALS:
            string = len(player.strings) - 1 - NUMERALS.index(match[1])
            if string < 0:
                raise WarmupError(
                    f"the {player.name} has no string {match[1]}.", hint="I is the highest string."
                )
        else:
            found.append((int(match[1]), string))
            string = None
    return found


def _mirrored(told: Sequence[_Told]) -> list[_Told]:
    """The way down: the same fingers backwards, each string told at the first note that lies on it."""
    on: list[int | None] = []
    string: int | None = None
    for _, own in told:
        string = own if own is not None else string
        on.append(string)
    back = range(len(told) - 2, -1, -1)
    return [(told[index][0], on[index] if on[index] != on[index + 1] else None) for index in back]


def _placed(player: Instrument, pitches: Sequence[Pitch], told: Sequence[_Told]) -> list[Spot]:
    spots: list[Spot] = []
    string: int | None = None
    for pitch, (finger, own) in zip(pitches, told, strict=True):
        if own is not None:
            string = own
        elif finger == 0 and (string is None or pitch.midi != player.strings[string].midi):
            string = None
        _check(player, pitch, finger, string)
        spots.append(Spot(UNTOLD if string is None else string, finger, shown=own is not None))
    return spots


def _check(player: Instrument, pitch: Pitch, finger: int, string: int | None) -> None:
    if finger == 0 and all(open_.midi != pitch.midi for open_ in player.strings):
        raise WarmupError(
            f"{pitch} is not an open string of the {player.name}.", hint="0 is the open string."
        )
    if string is None:
        return
    open_ = player.strings[string]
    if finger and pitch.midi == open_.midi:
        raise WarmupError(
            f"{pitch} is the open {open_} string, which takes no finger.", hint="Write 0 there."
        )
    if pitch.midi < open_.midi:
        raise WarmupError(f"{pitch} lies below the open {open_} string.", hint="Give a lower string there.")
