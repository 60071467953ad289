"""Reads a part for the left hand: all its voices as one hand, and what the score or the teacher says of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import INSTRUMENTS, Instrument, in_hand
from excerpts.instruments.instrument_names import instrument, instrument_of_part_name
from excerpts.lefthand.hand_note import HandNote
from excerpts.lefthand.hand_notes import notes_of
from excerpts.notes import Voice, read_lines
from excerpts.notes.in_force import tempo_places
from excerpts.score import Part
from excerpts.score.address import beat_at
from excerpts.sound.performance import TempoMap

USUAL_TEMPO: Final = Fraction(80)
"""Crotchets a minute where the score says no tempo: common practice, no source."""


@dataclass(frozen=True, slots=True)
class PartNotes:
    """The notes of a part as the left hand has them.

    Attributes:
        part: The part.
        excerpt: It as music of its own, with the teacher's marks in it.
        player: Who plays it.
        notes: The notes.
        marks: The teacher's marks.
        tempos: How fast they are.
        tempo_told: The score says so.
    """

    part: Part
    excerpt: Excerpt
    player: Instrument
    notes: tuple[HandNote, ...]
    marks: tuple[str, ...]
    tempos: TempoMap
    tempo_told: bool

    def label(self, measure: int) -> str:
        """The number of a bar as printed; its place where it has none."""
        return self.excerpt.bars[measure].label or f"@{measure + 1}"

    def beat(self, note: HandNote) -> str:
        """The beat that a note begins on, as it is counted: "2", "2.5"."""
        return beat_text(self.part, note.measure, note.within)

    def where(self, note: HandNote) -> str:
        """Bar and beat of a note, for messages."""
        beat = self.beat(note)
        return f"bar {self.label(note.measure)}" + (f" beat {beat}" if beat else "")


def read_part(
    part: Part,
    named: str | None = None,
    marks: Sequence[str] = (),
    pupil_bars: int = 0,
    hand: str | None = None,
) -> PartNotes:
    """Read a part.

    Args:
        part: The part.
        named: The instrument, where the part's name does not tell it.
        marks: The teacher's own marks.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are than those of the file.
        hand: How the hand is taught, where there is more than one way: "1-3-4" on the bass.

    Raises:
        InputError: It is no part for one string instrument in its usual tuning, or has no notes.
        MarkError: A mark cannot be read, or there is no note for it.
    """
    player = in_hand(_player(part, named), hand)
    excerpt = part.whole(pupil_bars).cut(0, marks)
    lines = read_lines(excerpt)
    _check(part, lines)
    tempos = dict(_tempos(excerpt))
    clock = TempoMap(tuple(sorted(({Fraction(0): USUAL_TEMPO} | tempos).items())), USUAL_TEMPO)
    notes = notes_of(lines, player, clock)
    return PartNotes(part, excerpt, player, tuple(notes), tuple(marks), clock, bool(tempos))


def _player(part: Part, named: str | None) -> Instrument:
    info = part.info
    player = instrument(named) if named else instrument_of_part_name(info.name)
    player = player or instrument_of_part_name(info.instrument)
    if player is None:
        called = f"'{info.name or info.instrument}'" if info.name or info.instrument else "the part"
        raise InputError(
            f"{called} is not known as a part for strings.",
            where=part.score.name,
            hint=f"If it is one, say --instrument and one of {', '.join(INSTRUMENTS)}.",
        )
    return player


def _check(part: Part, lines: Sequence[Voice]) -> None:
    labels = part.bars.labels
    for line in lines:
        event = next((event for event in line.events if event.staff > 1 and event.heads), None)
        if event is not None:
            measure = line.bar_at(event.onset)
            beat = beat_text(part, measure, event.onset - line.bars[measure].start)
            raise InputError(
                f"the part has two staves (from bar {labels[measure]} beat {beat}); a hand on strings reads one.",
                where=part.where,
                hint="Choose a part for one string instrument with --part.",
            )
        for placed in line.placed:
            if any(sign.name == "scordatura" or "scordatura" in sign.text.lower() for sign in placed.signs):
                beat = beat_text(part, placed.bar, placed.onset)
                raise InputError(
                    f"the strings are tuned anew in bar {labels[placed.bar]} beat {beat} (scordatura): "
                    "where the notes lie is not known.",
                    where=part.where,
                    hint="Fingerings are made for the usual tuning only.",
                )
    if not any(head.pitch for line in lines for event in line.events for head in event.heads):
        raise InputError("the part has no notes with a pitch.", where=part.where)


def _tempos(excerpt: Excerpt) -> Iterator[tuple[Fraction, Fraction]]:
    """Times in quarter notes from the start, and the quarter notes a minute that the score tells there."""
    if excerpt.tempo is not None:
        yield Fraction(0), excerpt.tempo.quarters_per_minute
    for place in tempo_places(excerpt, excerpt.tree()):
        if place.sounding is not None:
            yield excerpt.bars[place.at.bar].start + place.at.onset, place.sounding


def beat_text(part: Part, measure: int, within: Fraction) -> str:
    """The beat of a part's bar that something begins on, as it is counted: "2", "2.5"; "" before the first."""
    found = beat_at(part.bars, part.bars.run_at(measure), measure, within)
    return "" if found is None else f"{float(found):.4g}"
