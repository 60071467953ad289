"""Fingers of a warm-up: by rule in one position, or as the teacher gives them.

The rule takes the first position, or the one that a starting finger tells. It weighs every way to put the fingers down
and takes the lightest: no finger on two different notes in a row on one string, the usual finger for each letter, the
hand changed as little as may be. What no finger reaches in the position is left without one. The weights are common
practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from excerpts.errors import WarmupError
from excerpts.instruments.instrument import FIRST_POSITION, NUMERALS, THUMB, Instrument
from excerpts.instruments.staff import staff_place
from excerpts.musicxml.elements import Fingering, StringNumber, Technical
from excerpts.musicxml.pitch import Pitch
from excerpts.notes.model import Notation

Chord = tuple[Pitch, ...]
Choice = Literal["open", "fourth"]
"""What is played where both an open string and the fourth finger would do."""

_SLIDE: Final = 20
_OTHER_THAN_ASKED: Final = 6
_NOT_THE_LETTERS: Final = 2
_NEW_FORM: Final = 3
_TORN: Final = 1000
"""Another form of the hand on the same string: in a fixed position the hand cannot do that."""
_UNUSUAL_FORM: Final = 1
_HIGHEST: Final = 13
"""Places of the first finger that are tried for a starting finger: up to an octave above the nut."""


UNTOLD: Final = -1


@dataclass(frozen=True, slots=True)
class Spot:
    """A finger on a string.

    Attributes:
        string: Index of the string from the lowest; `UNTOLD` where the teacher gave a finger only.
        finger: 0 for the open string, 1 to 4, `THUMB`.
        shown: Whether the string's numeral is printed.
    """

    string: int
    finger: int
    shown: bool = False

    def marks(self, strings: int) -> tuple[Notation, ...]:
        """The marks at the note, on an instrument of so many strings (string 1 is the highest)."""
        number = str(strings - self.string)
        thumb = self.finger == THUMB
        notations = [Notation(Technical("thumb-position") if thumb else Fingering(str(self.finger)))]
        if self.shown:
            notations.append(Notation(StringNumber(number)))
        return tuple(notations)


@dataclass(frozen=True, slots=True)
class _Hand:
    """One way to play a note: where, and with which form of the hand (-1: any, for an open string)."""

    spot: Spot
    form: int
    weight: int


Fingers = tuple[tuple[Spot | None, ...], ...]
"""The spot of each note of each chord, None where a note has none."""


def first_position(player: Instrument, notes: Sequence[Chord], choice: Choice = "open") -> Fingers:
    """Finger single notes or double stops in first position.

    Args:
        player: The instrument.
        notes: The notes in order.
        choice: Open strings, or the fourth finger instead; the lowest note starts on its open string.

    Raises:
        WarmupError: The fourth finger is asked for where it does not reach.
    """
    if choice == "fourth" and not player.hand.by_letters:
        raise WarmupError(
            f"on the {player.name} the fourth finger does not reach the next open string in first position.",
            hint="Ask for open strings.",
        )
    if any(len(chord) > 1 for chord in notes):
        return tuple(_stop(player, chord) for chord in notes)
    pitches = [chord[0] for chord in notes]
    lowest = min(pitches, key=lambda pitch: pitch.midi)
    choices: list[Choice] = ["open" if pitch == lowest else choice for pitch in pitches]
    ways = [
        list(_ways(player, pitch, FIRST_POSITION, own)) for pitch, own in zip(pitches, choices, strict=True)
    ]
    return tuple((spot,) for spot in _lightest(pitches, ways)[0])


def one_position(player: Instrument, notes: Sequence[Chord], finger: int) -> Fingers:
    """Finger single notes in the position that begins with a given finger, nearest to the nut.

    Args:
        player: The instrument.
        notes: The notes in order; the hand stays where it is for all of them.
        finger: The finger of the first note.

    Raises:
        WarmupError: The finger does not exist on the instrument, or no one position holds all notes.
    """
    pitches = [chord[0] for chord in notes]
    if any(len(chord) > 1 for chord in notes):
        raise WarmupError(
            "a starting finger is for single notes.", hint="Ask for the first position instead."
        )
    best: tuple[int, Fingers] | None = None
    for base in range(1, _HIGHEST):
        ways = [
            list(_ways(player, pitch, base, "open" if base <= FIRST_POSITION else None)) for pitch in pitches
        ]
        ways[0] = [way for way in ways[0] if way.spot.finger == finger]
        if all(ways):
            spots, weight = _lightest(pitches, ways, _TORN)
            if weight < _TORN and (best is None or weight < best[0]):
                numerals = base > FIRST_POSITION
                best = weight, tuple((spot,) for spot in (_numerals(spots) if numerals else spots))
    if best is None:
        raise WarmupError(
            f"no position of the {player.name} that begins with finger {finger} on {pitches[0]} holds all these "
            "notes.",
            hint="Ask for one octave, begin with another finger, or give the fingers one by one.",
        )
    return best[1]


def _ways(player: Instrument, pitch: Pitch, base: int, choice: Choice | None) -> Iterator[_Hand]:
    """The ways to play a note with the first finger's usual place `base` semitones above the nut.

    Args:
        player: The instrument.
        pitch: The note.
        base: Where the hand is.
        choice: What is preferred where an open string will do; None where no open string is played.
    """
    for index, string in enumerate(player.strings):
        above = int(pitch.midi - string.midi)
        if above == 0 and choice is not None:
            yield _Hand(Spot(index, 0), -1, _OTHER_THAN_ASKED if choice == "fourth" and index else 0)
        if above <= 0 or (base == FIRST_POSITION and above > player.hand.reach):
            continue
        letters = staff_place(pitch) - staff_place(string)
        for form, fingers in enumerate(player.hand.forms):
            for finger in fingers.get(above - base, ()):
                yield _Hand(
                    Spot(index, finger), form, _weight(player, finger, letters, base, form, choice, above)
                )


def _weight(
    player: Instrument, finger: int, letters: int, base: int, form: int, choice: Choice | None, above: int
) -> int:
    weight = _UNUSUAL_FORM if form else 0
    if player.hand.by_letters:
        usual = letters - _letters(base) + 1
        weight += 0 if finger == usual else _NOT_THE_LETTERS
        if choice == "open" and above == player.hand.reach:
            weight += _OTHER_THAN_ASKED
    return weight


def _letters(base: int) -> int:
    """Letters from the open string to the first finger: the number of the position."""
    return max(1, (base + 1) * 7 // 12)


def _lightest(
    pitches: Sequence[Pitch], ways: Sequence[Sequence[_Hand]], torn: int = _NEW_FORM
) -> tuple[list[Spot | None], int]:
    """The spots of the lightest way through all notes, and its weight; a note without a way breaks it."""
    spots: list[Spot | None] = []
    total = 0
    start = 0
    for end in range(len(ways) + 1):
        if end < len(ways) and ways[end]:
            continue
        if start < end:
            path, weight = _path(pitches[start:end], ways[start:end], torn)
            spots += path
            total += weight
        if end < len(ways):
            spots.append(None)
        start = end + 1
    return spots, total


def _path(pitches: Sequence[Pitch], ways: Sequence[Sequence[_Hand]], torn: int) -> tuple[list[Spot], int]:
    best: list[tuple[int, list[_Hand]]] = [(hand.weight, [hand]) for hand in ways[0]]
    for index in range(1, len(ways)):
        moved = pitches[index] != pitches[index - 1]
        best = [
            min(
                (
                    (weight + hand.weight + _step(path[-1], hand, moved, torn), [*path, hand])
                    for weight, path in best
                ),
                key=lambda way: way[0],
            )
            for hand in ways[index]
        ]
    weight, path = min(best, key=lambda way: way[0])
    return [hand.spot for hand in path], weight


def _step(before: _Hand, after: _Hand, moved: bool, torn: int) -> int:
    """What it costs to go from one note to the next."""
    one_string = before.spot.string == after.spot.string
    weight = 0
    if before.form >= 0 and after.form >= 0 and before.form != after.form:
        weight += torn if one_string else _NEW_FORM
    return weight + (_SLIDE if one_string and before.spot.finger == after.spot.finger and moved else 0)


def _numerals(spots: Sequence[Spot | None]) -> list[Spot | None]:
    """Show the numeral at the first note and wherever the string changes: elsewhere it would be mistaken."""
    shown: list[Spot | None] = []
    string = -1
    for spot in spots:
        if spot is not None:
            shown.append(Spot(spot.string, spot.finger, shown=spot.string != string))
            string = spot.string
        else:
            shown.append(None)
    return shown


def _stop(player: Instrument, chord: Chord) -> tuple[Spot | None, ...]:
    """Two fingers of one form of the hand in first position, or none where it does not hold both notes."""
    low, high = (list(_ways(player, pitch, FIRST_POSITION, "open")) for pitch in (chord[0], chord[-1]))
    pairs = [
        (first.weight + second.weight, first.spot, second.spot)
        for first in low
        for second in high
        if second.spot.string == first.spot.string + 1
        and (first.form == second.form or -1 in {first.form, second.form})
        and _both(first.spot, second.spot, chord)
    ]
    if not pairs:
        return (None, None)
    _, first_spot, second_spot = min(pairs, key=lambda pair: pair[0])
    return (first_spot, second_spot)


def _both(low: Spot, high: Spot, chord: Chord) -> bool:
    """Whether two fingers can be down at once: one finger only across a fifth."""
    if low.finger != high.finger or not low.finger:
        return True
    return chord[-1].midi - chord[0].midi == 7


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
    fingers = _told(player, text)
    top = max(range(len(pitches)), key=lambda index: pitches[index].midi) + 1
    if len(fingers) == top and 2 * top - 1 == len(pitches):
        fingers = [*fingers, *_mirrored(fingers)]
    if len(fingers) != len(pitches):
        raise WarmupError(
            f"there are {len(fingers)} fingers for {top} notes up to the top ({len(pitches)} in all).",
            hint=_EXAMPLE,
        )
    return tuple((spot,) for spot in _placed(player, pitches, fingers))


_Told = tuple[int, int | None]
"""A finger, and the string that is told at it."""


def _told(player: Instrument, text: str) -> list[_Told]:
    fingers: list[_Told] = []
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
            fingers.append((int(match[1]), string))
            string = None
    return fingers


def _mirrored(fingers: Sequence[_Told]) -> list[_Told]:
    """The way down: the same fingers backwards, each string told at the first note that lies on it."""
    on: list[int | None] = []
    string: int | None = None
    for _, own in fingers:
        string = own if own is not None else string
        on.append(string)
    back = range(len(fingers) - 2, -1, -1)
    return [(fingers[index][0], on[index] if on[index] != on[index + 1] else None) for index in back]


def _placed(player: Instrument, pitches: Sequence[Pitch], fingers: Sequence[_Told]) -> list[Spot]:
    spots: list[Spot] = []
    string: int | None = None
    for pitch, (finger, own) in zip(pitches, fingers, strict=True):
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
