"""What the left hand is asked for: a note or chord with its time, and what is written at it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from excerpts.musicxml.pitch import Pitch

Harmonic = Literal["", "natural", "artificial"]


@dataclass(frozen=True, slots=True)
class Given:
    """What the score or the teacher says of one note.

    Attributes:
        finger: The finger, 0 for the open string; None where none is given.
        string: The string by its index from the lowest; None likewise.
        position: The position; None likewise.
        harmonic: Whether it is a harmonic, and of which kind.
    """

    finger: int | None = None
    string: int | None = None
    position: int | None = None
    harmonic: Harmonic = ""


@dataclass(frozen=True, slots=True)
class HandNote:
    """A note or chord that is set down anew, tied notes once.

    Attributes:
        pitches: From the lowest up, as written.
        given: What is said of each.
        onset: Quarter notes from the start of the part.
        time: Seconds from the start.
        seconds: How long it lasts.
        silence: Seconds of rest before it.
        on_beat: It begins on a beat that players count.
        slurred: A slur joins it to the note before.
        trill: It is trilled.
        grace: It is a grace note.
        measure: Index of its measure in the part.
        within: Quarter notes from the start of that measure.
        duration: Written length in quarter notes.
        event: Index of its event in its voice.
    """

    pitches: tuple[Pitch, ...]
    given: tuple[Given, ...]
    onset: Fraction = Fraction(0)
    time: float = 0.0
    seconds: float = 0.5
    silence: float = 0.0
    on_beat: bool = True
    slurred: bool = False
    trill: bool = False
    grace: bool = False
    measure: int = 0
    within: Fraction = Fraction(0)
    duration: Fraction = Fraction(1)
    event: int = -1

    @property
    def key(self) -> tuple[int, ...]:
        """MIDI numbers of its pitches: what has the same sounds the same."""
        return tuple(round(pitch.midi) for pitch in self.pitches)
