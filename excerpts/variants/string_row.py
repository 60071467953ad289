"""The teacher's row of strings: on which string each note of a passage is played, one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from excerpts.errors import InputError, VariantError
from excerpts.excerpt import bar_name
from excerpts.instruments.instrument import INSTRUMENTS, NUMERALS, Instrument
from excerpts.instruments.instrument_names import instrument, instrument_of_part_name
from excerpts.musicxml.elements import StringNumber
from excerpts.notes import Head, Notation, Voice
from excerpts.variants.passage import box_notes, where
from excerpts.variants.spanning_marks import map_marks


def check_player(name: str, parameter: str) -> None:
    """Refuse a parameter that is no instrument.

    Raises:
        VariantError: There is no instrument of that name.
    """
    if parameter:
        try:
            instrument(parameter)
        except InputError as error:
            raise VariantError(f"'{name}:{parameter}': {error.what}", hint=f"Write {name}:viola.") from error


def player_of(line: Voice, name: str, parameter: str) -> Instrument:
    """The instrument.

    Args:
        line: The line of a box.
        name: Name of the variant, for messages.
        parameter: The instrument as typed; "" where the part's name tells it.

    Raises:
        VariantError: The part does not say who plays it.
    """
    player = instrument(parameter) if parameter else instrument_of_part_name(line.origin.part)
    if player is None:
        named = f"the part {line.origin.part!r}" if line.origin.part else "the passage"
        raise VariantError(
            f"{named} does not say which instrument plays it, so its open strings are not known.",
            where=where(line),
            hint=f"Name the instrument: {', '.join(f'{name}:{one}' for one in INSTRUMENTS)}.",
        )
    return player


_STRINGS: Final = {
    written: number for number, numeral in enumerate(NUMERALS, 1) for written in (numeral, str(number))
}
"""Strings as they are written: Roman or not, I for the highest."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a parameter says: the instrument ("" for that of the part), and the strings note by note, from 1."""

    instrument: str = ""
    strings: tuple[int, ...] = ()


def read_asked(parameter: str) -> Asked:
    """Read "viola", "III-II-I", or "viola:3-2-1".

    Raises:
        VariantError: A piece is neither an instrument nor strings with hyphens between.
    """
    named = ""
    strings: tuple[int, ...] = ()
    for piece in filter(None, (piece.strip() for piece in parameter.split(":"))):
        row = tuple(_STRINGS.get(part.strip().upper(), 0) for part in piece.split("-"))
        if not strings and any(row):
            if not all(row):
                raise VariantError(
                    f"{piece!r} in 'open-strings:{parameter}' are not strings.",
                    hint="Write a string for each note in turn, I for the highest: open-strings:III-II-I-II.",
                )
            strings = row
        else:
            check_player("open-strings", piece)
            named = piece
    return Asked(named, strings)


def with_strings(line: Voice, strings: Sequence[int], player: Instrument) -> Voice:
    """String numbers on the notes of the box, in turn; from the start again where the row ends.

    Args:
        line: The line of a box.
        strings: Their numbers, 1 for the highest; of a double stop the lowest note is on the one named.
        player: Whose strings.

    Raises:
        VariantError: A note is below the open string that it would be on, or there is no such string.
    """
    if max(strings) > len(player.strings):
        raise VariantError(
            f"the {player.name} has {len(player.strings)} strings, and there is a string {max(strings)}.",
            where=where(line),
            hint="I is the highest string.",
        )
    notes = box_notes(line)
    events = map_marks(
        line.events, lambda end, mark: None if mark.name == "string" and end.event in notes else mark
    )
    for place, index in enumerate(notes):
        number = strings[place % len(strings)]
        event = events[index]
        heads = list(event.heads)
        rows = range(number, number - len(heads), -1)
        order = sorted(range(len(heads)), key=[height_of(head) for head in heads].__getitem__)
        for at, string in zip(order, rows, strict=True):
            pitch = heads[at].pitch
            if string < 1 or pitch is None or player.strings[len(player.strings) - string].midi > pitch.midi:
                bar = bar_name(line.bars, line.bar_at(event.onset))
                raise VariantError(
                    f"{pitch} in {bar} is not on string {max(string, 1)} of the {player.name}.",
                    where=where(line),
                    hint="Write a string for each note in turn, I for the highest: open-strings:III-II-I-II.",
                )
            mark = Notation(StringNumber(str(string)))
            heads[at] = replace(heads[at], marks=(*heads[at].marks, mark))
        events = (*events[:index], replace(event, heads=tuple(heads)), *events[index + 1 :])
    return replace(line, events=events)


def height_of(head: Head) -> Fraction:
    """MIDI number of a notehead; -1 where it has no pitch."""
    return head.pitch.midi if head.pitch is not None else Fraction(-1)
