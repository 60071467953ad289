"""A fingering of a part: a row for each note, as proposed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from excerpts.instruments.instrument import THUMB, Instrument
from excerpts.lefthand.double_stops import stop_trouble
from excerpts.lefthand.hand_note import Given, HandNote
from excerpts.lefthand.hand_places import Place, Stop, places_of, semitones_of
from excerpts.lefthand.path import NO_WISHES, Chain, Wishes
from excerpts.lefthand.read_part import PartNotes
from excerpts.lefthand.repeated_figures import alike
from excerpts.musicxml.pitch import Pitch

_NAMES: Final = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True, slots=True)
class FingeredNote:
    """A note or chord with its place; None for what no hand can play.

    Attributes:
        note: The note.
        place: Its place.
        sure: How sure the string of each of its pitches is, 0 to 1.
    """

    note: HandNote
    place: Place | None
    sure: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One pitch of a fingering.

    Attributes:
        bar: Label of its bar.
        place: Place of its bar in the file, from 1.
        onset: Quarter notes from the start of the bar.
        beat: The beat, as it is counted.
        pitch: The written pitch.
        grace: It is a grace note.
        string: The string, 1 the highest; None where no hand can play it.
        position: The position, 0 for half position; likewise.
        finger: The finger, 0 for the open string, "T" for the thumb; likewise.
        sure: How sure the string is; likewise.
        given: What the score or the teacher says of it.
    """

    bar: str
    place: int
    onset: Fraction
    beat: str
    pitch: str
    grace: bool
    string: int | None
    position: int | None
    finger: int | str | None
    sure: float | None
    given: Given

    def as_json(self) -> dict[str, Any]:
        """It as the contract of `--json` has it."""
        return {
            "bar": self.bar,
            "place": self.place,
            "onset": str(self.onset),
            "pitch": self.pitch,
            "string": self.string,
            "position": self.position,
            "finger": self.finger,
            "sure": self.sure,
        }


@dataclass(frozen=True, slots=True)
class Fingering:
    """The fingering of a part.

    Attributes:
        read: The part as it was read.
        notes: Its notes with their places.
        warnings: What could not be done, each with bar and beat.
    """

    read: PartNotes
    notes: tuple[FingeredNote, ...]
    warnings: tuple[str, ...]

    def rows(self) -> list[Row]:
        """A row for each pitch, in the order of the part."""
        return [row for one in self.notes for row in self.rows_of(one)]

    def first_finger(self, one: FingeredNote) -> str:
        """The note under the first finger, where positions are not letters and schools name them differently."""
        player = self.read.player
        if one.place is None or player.hand.by_letters:
            return ""
        hand = one.place.hand
        return _NAMES[(round(player.strings[hand.string].midi) + semitones_of(hand.place)) % 12]

    def rows_of(self, one: FingeredNote) -> Iterator[Row]:
        """The rows of a note or chord, from its lowest pitch up."""
        note, count = one.note, len(self.read.player.strings)
        label, beat = self.read.excerpt.bars[note.measure].label, self.read.beat(note)
        stops: Sequence[Stop | None] = one.place.stops if one.place else [None] * len(note.pitches)
        sures: Sequence[float | None] = one.sure or [None] * len(note.pitches)
        for pitch, stop, sure, given in zip(note.pitches, stops, sures, note.given, strict=True):
            yield Row(
                bar=label,
                place=note.measure + 1,
                onset=note.within,
                beat=beat,
                pitch=str(pitch),
                grace=note.grace,
                string=None if stop is None else count - stop.string,
                position=None if stop is None or one.place is None else one.place.hand.position,
                finger=None if stop is None else "T" if stop.finger == THUMB else stop.finger,
                sure=None if sure is None else round(sure, 2),
                given=given,
            )


def finger_part(read: PartNotes, wishes: Wishes = NO_WISHES) -> Fingering:
    """Propose a fingering of a part.

    Args:
        read: The part.
        wishes: What the player is asked for.
    """
    fingered = finger_notes(read.notes, read.player, wishes)
    return Fingering(read, fingered, tuple(_warnings(read, fingered, wishes)))


def finger_notes(
    notes: Sequence[HandNote], player: Instrument, wishes: Wishes = NO_WISHES, *, figures: bool = True
) -> tuple[FingeredNote, ...]:
    """Propose a fingering of notes; those that no hand can play are passed over.

    Args:
        notes: The notes in order of time.
        player: The instrument.
        wishes: What the player is asked for.
        figures: The same figure gets the same fingers where the cost is near.
    """
    playable = [note for note in notes if places_of(note, player)]
    chain = Chain(playable, player, wishes)
    path = chain.decode()
    if figures and (costs := alike(playable, chain, path)):
        path = chain.decode(costs)
    places = iter(path)
    able = {id(note) for note in playable}
    return tuple(
        FingeredNote(note, *next(places)) if id(note) in able else FingeredNote(note, None) for note in notes
    )


def _warnings(read: PartNotes, fingered: Sequence[FingeredNote], wishes: Wishes) -> Iterator[str]:
    player = read.player
    for one in fingered:
        note = one.note
        if len(note.pitches) > 1 and (
            trouble := stop_trouble(note, [one.place] if one.place else [], player)
        ):
            yield f"{read.where(note)}: {trouble}"
        if one.place is None:
            if len(note.pitches) == 1:
                yield f"{read.where(note)}: {_why(note.pitches[0], player)}"
            continue
        for pitch, stop, given in zip(note.pitches, one.place.stops, note.given, strict=True):
            if refused := _not_kept(stop, given, player):
                yield f"{read.where(note)}: {pitch} cannot be had {refused}; that is passed over"
        if (
            wishes.positions is not None
            and one.place.hand.finger
            and one.place.hand.position not in wishes.positions
        ):
            names = " and ".join(map(str, note.pitches))
            yield f"{read.where(note)}: {names} lies in none of the positions {_listed(wishes.positions)}"


def _why(pitch: Pitch, player: Instrument) -> str:
    what = f"{pitch} cannot be played on the {player.name}: {pitch} lies"
    if pitch.midi < player.strings[0].midi:
        return f"{what} below its lowest string, {player.strings[0]}"
    return f"{what} above the fingerboard"


def _not_kept(stop: Stop, given: Given, player: Instrument) -> str:
    """What is said of a note that its stop goes against, in words."""
    position = stop.position if stop.finger else given.position
    pairs = ((given.finger, stop.finger), (given.string, stop.string), (given.position, position))
    if all(said is None or said == is_so for said, is_so in pairs):
        return ""
    phrases = []
    if given.finger is not None:
        phrases.append(f"with finger {'T' if given.finger == THUMB else given.finger}")
    if given.string is not None:
        phrases.append(f"on string {len(player.strings) - given.string}")
    if given.position is not None:
        phrases.append(f"in position {given.position}")
    return " ".join(phrases)


def _listed(positions: frozenset[int]) -> str:
    return ", ".join(map(str, sorted(positions)))
