"""Ringing notes: a pause on each note that has the name of an open string, to be compared with that string.

In tune they make the open string sound along. Common practice of string teachers, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import partial
from typing import Final

from excerpts.errors import VariantError
from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.elements import Fermata
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.clipping import CUT_SHORT
from excerpts.variants.groups import on_beat
from excerpts.variants.pairs import box_bars
from excerpts.variants.passage import box_notes, where
from excerpts.variants.registry import Variant, VariantInfo
from excerpts.variants.spanning_marks import map_marks, with_pauses
from excerpts.variants.string_row import check_player, player_of

PAUSE: Final = Notation(Fermata())
_NAME: Final = "ringing"
_MANY: Final = Fraction(1, 4)
"""Share of the notes that may have a pause."""


def ringing(line: Voice, parameter: str) -> Voice:
    """Put a pause on the notes that can be compared.

    Raises:
        VariantError: The instrument is not known, or no note has the name of one of its strings.
    """
    player = player_of(line, _NAME, parameter)
    notes = box_notes(line)
    ringing = [note for note in notes if _rings(line.events[note], player)]
    if not ringing:
        names = ", ".join(str(string)[:-1] for string in player.strings)
        raise VariantError(
            f"no stopped note of {box_bars(line)} has the name of an open string ({names}).",
            where=where(line),
            hint="Choose another variant ('drone', 'slow') or other bars.",
        )
    metres = bar_metres(line)
    if (
        len(ringing) > len(notes) * _MANY
    ):  # a pause on every other note is no music: those on the beats will do
        ringing = [index for index in ringing if on_beat(line, metres, line.events[index].onset)] or ringing[
            :1
        ]
    events = map_marks(
        line.events, lambda end, mark: None if end.event in ringing and mark.name in CUT_SHORT else mark
    )
    return replace(line, events=with_pauses(events, ringing))


def _rings(event: Event, player: Instrument) -> bool:
    """Whether it is one stopped note, some octaves away from an open string, not shorter than a semiquaver."""
    if event.grace or len(event.heads) != 1 or event.heads[0].pitch is None:
        return False
    midi = event.heads[0].pitch.midi
    open_strings = {string.midi for string in player.strings}
    return midi not in open_strings and any((midi - string) % 12 == 0 for string in open_strings)


VARIANT = Variant(
    VariantInfo(_NAME, ("intonation",), parameter="INSTRUMENT", order=91),
    on_line=ringing,
    check=partial(check_player, _NAME),
)
