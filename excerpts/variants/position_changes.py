"""Where the left hand changes its position, as far as the page tells: by fingers, string numbers and words.

It does where one finger goes to another note of its string, where no one place of the hand has the written fingers on
their notes, where a note on a told string lies beyond the hand, and where words name another position ("3rd pos.").
Words like "sul G" tell the string until others come. Without fingers the hand is taken to begin in first position,
which nobody writes down: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import reduce
from typing import Final

from excerpts.instruments.fingerboard import finger_of, places_of, string_of
from excerpts.instruments.instrument import FIRST_POSITION, NUMERALS, Instrument
from excerpts.musicxml.playing_words import states_in
from excerpts.notes import Event, TimedElement, Voice
from excerpts.variants.passage import box_notes, box_times

_FIRST: Final = frozenset({FIRST_POSITION})
_ANYWHERE: Final = frozenset[int]()
"""The place of a hand of which nothing is known."""


def position_changes(line: Voice, player: Instrument) -> list[tuple[int, int]]:
    """The changes of position in the box: the last note before each and the first note after it, by their indices."""
    notes = box_notes(line)
    words = list(_words(line, player))
    hand = _Hand(player, _FIRST)
    changes: list[tuple[int, int]] = []
    for before, note in zip([None, *notes], notes, strict=False):
        event = line.events[note]
        said = [one for one in words if one.time <= event.onset]
        words = words[len(said) :]
        if hand.goes_to(event, said) and before is not None:
            changes.append((before, note))
    return changes


def proposed_changes(line: Voice, player: Instrument) -> list[tuple[int, int]]:
    """The same as a proposed fingering has them: a guess. None in music that lies in first position."""
    from excerpts.lefthand.strings import hand_of  # which loads numpy

    low, high = box_times(line)
    return [
        (before, after)
        for before, after in hand_of(line, player).moves()
        if low <= line.events[before].onset and line.events[after].onset < high
    ]


@dataclass(frozen=True, slots=True)
class _Said:
    """Words over the notes: a position, or a string by its index from the lowest; None where they take it back."""

    time: Fraction
    position: str | None = None
    string: int | None = None


@dataclass(slots=True)
class _Hand:
    """The hand on its way through the notes.

    Attributes:
        player: Whose hand.
        places: Where the first finger may be, in semitones above the open string.
        position: The position that words named last.
        string: The string that words tell.
        last: The note before.
    """

    player: Instrument
    places: frozenset[int]
    position: str | None = None
    string: int | None = None
    last: Event | None = None

    def goes_to(self, event: Event, said: list[_Said]) -> bool:
        """Go to a note; whether the page tells that the hand moves for it."""
        named = self._listens(said)
        reach = self._reach(event)
        marked = any(
            finger_of(head) or self._string_told(event, place) for place, head in enumerate(event.heads)
        )
        slides = self.last is not None and self._slides(self.last, event)
        beyond = bool(reach and self.places and not reach & self.places)
        self.last = event
        if named or slides or (beyond and marked):
            self.places = reach
            return True
        self.places = _ANYWHERE if beyond else (self.places & reach or self.places or reach)
        return False

    def _listens(self, said: list[_Said]) -> bool:
        """Take in what words say; whether they name another position."""
        before = self.position
        for one in said:
            if one.position is not None:
                self.position = one.position
            else:
                self.string = one.string
        return self.position != before

    def _string_told(self, event: Event, place: int) -> bool:
        number = any(mark.name == "string" for mark in event.heads[place].marks)
        return number or self.string is not None

    def _reach(self, event: Event) -> frozenset[int]:
        """Where the first finger may be for a note or double stop; nowhere in particular for open strings."""
        reaches = (places_of(head, self.player, self.string) for head in event.heads)
        return reduce(lambda one, other: one & other or one or other, reaches, _ANYWHERE)

    def _slides(self, event: Event, after: Event) -> bool:
        """Whether one finger plays both notes at different places of one string."""
        if len(event.heads) != 1 or len(after.heads) != 1:
            return False
        first, second = event.heads[0], after.heads[0]
        one, other = (string_of(head, self.player, self.string) for head in (first, second))
        if (
            one is None
            or other is None
            or one.index != other.index
            or first.pitch is None
            or second.pitch is None
        ):
            return False
        same_letter = self.player.hand.by_letters and first.pitch.step == second.pitch.step
        return (
            finger_of(first) not in {"", "0"}
            and finger_of(first) == finger_of(second)
            and first.pitch.midi != second.pitch.midi
            and not (same_letter and abs(first.pitch.midi - second.pitch.midi) <= 1)
        )


_STRING: Final = re.compile(rf"\b({'|'.join(sorted(NUMERALS, key=len, reverse=True))}|[1-5]|[A-Ga-g])\b|(\d)")


def _words(line: Voice, player: Instrument) -> Iterator[_Said]:
    """What words say of strings and positions, in order of time; a line of dashes that ends takes a string back."""
    for placed in sorted(line.placed, key=lambda one: _time(line, one)):
        time = _time(line, placed)
        text = " ".join(sign.text for sign in placed.signs if sign.name == "words")
        for state in states_in(text):
            if state.kind == "position" and state.words:
                yield _Said(time, position=state.words)
            elif state.kind == "string":
                yield _Said(time, string=_string(state.words, player))
        if any(
            sign.name in {"dashes", "bracket"} and getattr(sign, "type", "") == "stop"
            for sign in placed.signs
        ):
            yield _Said(time)


def _time(line: Voice, placed: TimedElement) -> Fraction:
    return line.time_of(placed) + placed.offset


def _string(words: str, player: Instrument) -> int | None:
    """The string that words name, by its letter or by its number from the highest; its index from the lowest."""
    match = _STRING.search(re.sub(r"(?i)\b(sul(la)?|auf|corda|corde|string|saite)\b", "", words))
    if match is None:
        return None
    name = match.group().upper()
    if name in "ABCDEFG":
        return next((i for i, open_ in enumerate(player.strings) if open_.step == name), None)
    number = NUMERALS.index(name) + 1 if name in NUMERALS else int(name)
    return len(player.strings) - number if number <= len(player.strings) else None
