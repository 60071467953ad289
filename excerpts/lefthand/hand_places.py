"""Places of the hand: on which string, in which position and with which finger a note or chord can be had.

Violin and viola: the hand goes by letters. A finger is for a staff step, so that step = position + finger - 1 above
the open string; the step next to the written one will do where it sounds right ("respelt"). Cello and double bass: the
hand goes by semitones, in the forms of `Hand`. An open string is had in any position, so that the hand may move under
it. A chord lies on neighbouring strings in one position of one form, a finger on each note; a fifth takes one finger.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product
from typing import Final, NamedTuple

from excerpts.instruments.instrument import THUMB, Form, Hand, Instrument
from excerpts.instruments.staff import staff_place
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.musicxml.pitch import Pitch

_USUAL: Final = (0.0, 1.5, 3.5, 5.0, 7.0, 8.5, 10.5)
"""Semitones of a staff step above the open string, in the middle of its usual alterations."""

_AS_WRITTEN: Final = 1.51
_RESPELT: Final = 1.01
"""How far a pitch may lie from there: G flat and D flat on the E string are as far as any with one accidental."""

_FIRST_FINGER: Final = (0.0, 2.0, 3.5, 5.0, 7.0, 8.5, 10.5)
_FROM_FIRST: Final = (0.0, 0.0, 1.5, 3.5, 5.0)
"""Where the first finger of a position lies, and how far from it each finger is, in semitones."""

_TOUCHED: Final = {
    12: (12,),
    19: (7, 19),
    24: (5, 24),
    28: (4, 9),
    3: (3,),
    4: (4,),
    5: (5,),
    7: (7,),
    9: (9,),
}
"""Natural harmonics by semitones above the open string as written: where the string is touched."""

_STEP_OF: Final = (0, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6, 7)
"""Positions of the hand by semitones of the first finger above the open string; 0 is half position.

One common list of names for the bass, and the letters of the cello's A string; schools differ.
"""

_PER_POSITION: Final = 12 / 7
_UNDER_OPEN: Final = 7
"""The highest position that the hand may be in under an open string."""

_FAR: Final = 99
_ANY_FORM: Final = 255

_NECK: Final = 7
_LAST_CLOSED: Final = 12
"""Semitones from the nut to the first finger: where the neck ends, and with it the use of the fourth finger; and the
farthest that it goes without the thumb, which comes up from the end of the neck on."""


class Stop(NamedTuple):
    """One finger on one string.

    Attributes:
        string: Index of the string from the lowest.
        form: The form of the hand, by its index; -1 for an open string, which any form has.
        place: Where the hand is, in positions; in halves and thirds of them where it goes by semitones.
        position: The position by its number.
        finger: The finger; 0 for the open string.
        above: Semitones above the open string.
        respelt: The finger is against the spelling.
        extended: The hand is stretched.
    """

    string: int
    form: int
    place: float
    position: int
    finger: int
    above: int
    respelt: bool = False
    extended: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """How a note or chord can be had: a stop for each of its notes, from the lowest up."""

    stops: tuple[Stop, ...]

    @property
    def low(self) -> int:
        """Index of the lowest string."""
        return min(stop.string for stop in self.stops)

    @property
    def hand(self) -> Stop:
        """A stop that tells where the hand is: an open string only where nothing is stopped."""
        return next((stop for stop in self.stops if stop.finger), self.stops[0])

    @property
    def high(self) -> int:
        """Index of the highest string."""
        return max(stop.string for stop in self.stops)


def position_of(semitones: int) -> int:
    """The number of the position with the first finger so many semitones above the open string."""
    octaves, left = divmod(max(semitones - 1, 0), 12)
    return 7 * octaves + _STEP_OF[left]


def semitones_of(place: float) -> int:
    """Semitones above the open string of a hand that goes by semitones."""
    return round(place * _PER_POSITION)


def places_of(note: HandNote, player: Instrument) -> tuple[Place, ...]:
    """All places in which the hand can have a note or chord; none where it cannot."""
    pitches, given = note.pitches, note.given
    if any(pitch.alter.denominator > 2 for pitch in pitches):
        return ()
    kinds = [one.harmonic for one in given]
    if len(pitches) == 2 and "artificial" in kinds:
        return _artificial(pitches, player)
    ways = [stops_of(pitch, player, kind == "natural") for pitch, kind in zip(pitches, kinds, strict=True)]
    if len(pitches) == 1:  # of the forms that have a finger at one place, the first: the closed hand
        once = {(stop.string, stop.place, stop.finger, stop.respelt): stop for stop in reversed(ways[0])}
        return tuple(Place((stop,)) for stop in reversed(once.values()))
    if len(pitches) > len(player.strings):
        return ()
    return tuple(_chords(ways))


@lru_cache(maxsize=2048)
def stops_of(pitch: Pitch, player: Instrument, harmonic: bool = False) -> tuple[Stop, ...]:
    """All stops of one note, string by string."""
    find = _by_letters if player.hand.by_letters else _by_semitones
    stops: list[Stop] = []
    for string, open_ in enumerate(player.strings):
        above = round(pitch.midi - open_.midi)
        if above < 0:
            continue
        if harmonic and above in _TOUCHED:
            for touched in _TOUCHED[above]:
                steps = round(touched * 7 / 12) if player.hand.by_letters else 0
                stops += find(player, string, touched, steps)
            continue
        if above == 0:
            stops += [Stop(string, -1, *place, 0, 0) for place in _under_open(player)]
        else:
            stops += find(player, string, above, staff_place(pitch) - staff_place(open_))
    return tuple(stops)


def _under_open(player: Instrument) -> list[tuple[float, int]]:
    """Places and positions of the hand under an open string."""
    if player.hand.by_letters:
        return [(position, position) for position in range(1, _UNDER_OPEN + 1)]
    return [(first / _PER_POSITION, position_of(first)) for first in range(1, _LAST_CLOSED + 1)]


def _by_letters(player: Instrument, string: int, above: int, steps: int) -> Iterator[Stop]:
    for step in (steps - 1, steps, steps + 1):
        usual = 12 * (step // 7) + _USUAL[step % 7]
        if step < 0 or abs(above - usual) > (_AS_WRITTEN if step == steps else _RESPELT):
            continue
        for finger in (1, 2, 3, 4):
            position = step - finger + 1
            if not 0 <= position <= player.hand.highest[string] or (
                position == 0 < finger - 1 and step != steps
            ):
                continue
            first = 12 * (position // 7) + _FIRST_FINGER[position % 7]
            away = above - first - _FROM_FIRST[finger]
            stretched = away > 0.9 or (away < -0.9 and step != steps)
            yield Stop(string, 0, position, position, finger, above, step != steps, stretched)


def _by_semitones(player: Instrument, string: int, above: int, _steps: int) -> Iterator[Stop]:
    hand = player.hand
    for form, shape in enumerate(_shapes(hand)):
        for first in range(1, _NECK + 1):
            for finger in shape.get(above - first, ()):
                named = _named(player, first + min(shape), form > 0)
                yield Stop(string, form, first / _PER_POSITION, named, finger, above, extended=form > 0)
    for first in range(_NECK + 1, _LAST_CLOSED + 1):
        for finger in hand.beyond.get(above - first, ()):
            yield Stop(string, 0, first / _PER_POSITION, position_of(first), finger, above)
    for thumb in range(_NECK, hand.highest[string] + 1):
        for finger in hand.thumb.get(above - thumb, ()):
            first = thumb + 2
            yield Stop(string, THUMB, first / _PER_POSITION, position_of(first), finger, above)


def _shapes(hand: Hand) -> list[Form]:
    """The forms of a hand that goes by semitones, the closed one first; none twice."""
    return [hand.forms[0], *(form for form in hand.forms[1:] if not _is_moved(form, hand.forms[0]))]


def forms_of(place: Place, player: Instrument) -> int:
    """The forms of the hand that have all stops of a place where the hand is: a bit for each; all where any will do."""
    if player.hand.by_letters:
        return _ANY_FORM
    forms = _ANY_FORM
    for stop in place.stops:
        first = semitones_of(stop.place)
        if stop.finger and stop.form != THUMB and first <= _NECK:
            having = [stop.finger in shape.get(stop.above - first, ()) for shape in _shapes(player.hand)]
            forms &= sum(1 << form for form, has in enumerate(having) if has)
    return forms


def _named(player: Instrument, first: int, extended: bool) -> int:
    """The position with the first finger there; a stretched hand is named by the position that is used more."""
    near = [position_of(first), position_of(first + 1)]
    used = [position for position in near if position in player.hand.settled]
    return used[0] if extended and used else near[0]


def _is_moved(form: object, closed: object) -> bool:
    """Whether a form is the closed hand a semitone on: another place of it, no other form."""
    if not isinstance(form, dict) or not isinstance(closed, dict):
        return False
    least = min(form)
    return {offset - least: fingers for offset, fingers in form.items()} == closed


def _chords(ways: Sequence[Sequence[Stop]]) -> Iterator[Place]:
    """The places that have all notes of a chord at once."""
    by_hand: list[dict[tuple[int, float], list[Stop]]] = []
    for stops in ways:
        held: dict[tuple[int, float], list[Stop]] = {}
        for stop in stops:
            held.setdefault((stop.form, stop.place), []).append(stop)
        by_hand.append(held)
    opens = [[stop for stop in stops if stop.finger == 0][:1] for stops in ways]
    hands = dict.fromkeys(hand for held in by_hand for hand in held)
    for hand in hands:
        under = [opens[at] if hand[0] >= 0 else [] for at in range(len(ways))]
        for stops in product(*(held.get(hand, []) + under[at] for at, held in enumerate(by_hand))):
            if _fit(stops) and (hand[0] < 0 or any(stop.finger for stop in stops)):
                yield Place(stops)


def _fit(stops: Sequence[Stop]) -> bool:
    """Whether stops lie on neighbouring strings in the order of the notes, a finger for each."""
    strings = [stop.string for stop in stops]
    turned = len(stops) == 2 and strings[0] == strings[1] + 1 and stops[0].finger == 0
    if not turned and any(other - one != 1 for one, other in pairwise(strings)):
        return False
    fingers: dict[int, Stop] = {}
    for stop in stops:
        known = fingers.setdefault(stop.finger, stop)
        if stop.finger and known is not stop and known.above != stop.above:
            return False
    return True


def _artificial(pitches: Sequence[Pitch], player: Instrument) -> tuple[Place, ...]:
    """A stopped note, and the one a third to a fifth above it that is touched on the same string."""
    first = 1 if player.hand.by_letters else THUMB
    touching = 4 if player.hand.by_letters else 3
    wide = round(pitches[1].midi - pitches[0].midi)
    return tuple(
        Place((stop, stop._replace(finger=touching, above=stop.above + wide)))
        for stop in stops_of(pitches[0], player)
        if stop.finger == first and wide in range(3, 8)
    )


def facts_of(
    places: Sequence[Place], given: Sequence[Given], player: Instrument, taught: frozenset[int] | None
) -> list[list[float]]:
    """The `PLACE_FACTS` of each place of a note or chord."""
    lowest, highest = min(place.low for place in places), max(place.low for place in places)
    has_open = any(stop.finger == 0 for place in places for stop in place.stops)
    has_stop = any(all(stop.finger for stop in place.stops) for place in places)
    return [
        _facts(place, given, player, taught, (place.low - lowest, highest - place.low), (has_open, has_stop))
        for place in places
    ]


def _facts(
    place: Place,
    given: Sequence[Given],
    player: Instrument,
    taught: frozenset[int] | None,
    strings: tuple[int, int],
    ways: tuple[bool, bool],
) -> list[float]:
    stops, hand, top = place.stops, player.hand, len(player.strings) - 1
    stopped = [stop for stop in stops if stop.finger]
    is_open = len(stopped) < len(stops)
    position = max(stop.position for stop in stopped or stops)
    fourth = any(stop.finger == 4 for stop in stops)
    thumb = any(stop.form == THUMB for stop in stops)
    up = max((max(0, stop.position - hand.settled[-1]) for stop in stops if stop.string < top), default=0)
    thin = len(stops) == 1 and hand.thin_top and stops[0].string == top
    on_top = stops[0].above if thin else _FAR
    return [
        is_open,
        not is_open,
        fourth,
        position % 2 == 0,
        position == 0,
        position < hand.settled[-1] and position not in hand.settled,
        min(max(0, position - 1), hand.settled[-1]),
        sum(stop.respelt for stop in stops),
        up,
        strings[1],
        strings[0],
        on_top < 5,
        on_top < 7,
        any(stop.extended for stop in stops),
        len(stops) > 1 and any(stop.extended for stop in stops),
        thumb,
        thumb and any(stop.place * _PER_POSITION < 14 for stop in stops),
        is_open or fourth,
        taught is not None and position not in taught,
        is_open and ways[1],
        not is_open and ways[0],
        sum(_against(stop, one) for stop, one in zip(stops, given, strict=True)),
    ]


def _against(stop: Stop, given: Given) -> int:
    """How much of what is given a stop goes against."""
    return sum(
        said is not None and said != is_so
        for said, is_so in (
            (given.finger, stop.finger),
            (given.string, stop.string),
            (given.position, stop.position if stop.finger else given.position),
        )
    )
