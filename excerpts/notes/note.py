"""One printed note while a line is being written: what the steps of the writer hand on to each other."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from excerpts.musicxml.elements import Beam, Opaque, TimeModification
from excerpts.notes.model import Event
from excerpts.notes.spelling import Tuplet, Value


@dataclass(slots=True)
class Note:
    """One printed note, chord or rest of a bar, while the line is being written.

    Attributes:
        event: The event it belongs to.
        index: Index of that event in the line.
        onset: Quarter notes from the start of the bar.
        duration: Sounding length in quarter notes.
        value: Written type and dots; None for a rest that fills its bar and for what has no written length.
        whole_bar: A rest that fills its bar.
        modification: How it is counted in a tuplet; None outside.
        tuplet: The tuplet that the writer made, to be bracketed.
        beams: Its beams, in order of level.
        kept: It is printed as the source prints it.
        segment: Number of the tied segment, from 0.
        last: It is the last segment of its event.
        since: Quarter notes from the start of its event.
        tuplet_edges: "start" and "stop" where the writer's tuplet begins and ends.
        bracket: The tuplet needs a bracket, because no beam shows which notes belong to it.
    """

    event: Event
    index: int
    onset: Fraction
    duration: Fraction
    value: Value | None = None
    whole_bar: bool = False
    modification: TimeModification | Opaque | None = None
    tuplet: Tuplet | None = None
    beams: tuple[Beam, ...] = ()
    kept: bool = False
    segment: int = 0
    last: bool = True
    since: Fraction = Fraction(0)
    tuplet_edges: set[str] = field(default_factory=set)
    bracket: bool = True
