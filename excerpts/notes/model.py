"""Events of one voice on one staff, and the line of bars that they stand in.

All times are exact: `fractions.Fraction` of a quarter note, from the start of the line.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from excerpts.excerpt import BarRef, Box, OpenEnd, Origin, ReportLine, Tempo
from excerpts.musicxml.elements import (
    Beam,
    Direction,
    MeasureTag,
    Opaque,
    ScorePart,
    Sign,
    Signatures,
    Sound,
    TimeModification,
)
from excerpts.musicxml.pitch import Pitch


@dataclass(frozen=True, slots=True)
class Notation:
    """One thing that is written at a note.

    Attributes:
        sign: What it is. A `Tied` with an edge is a tie that could not be merged: one note of a chord, or a
            loose end.
        segment: Which of the tied segments it stands on, from 0; -1 = the last of several.
        holder: The family, where it is not that of the sign's class: of an `Opaque` in a list, and "tie-look"
            for how a merged tie looks.
    """

    sign: Sign
    segment: int = 0
    holder: str = ""

    @property
    def family(self) -> str:
        """Element that holds it ("articulations", "technical", "ornaments"), else its own name ("slur", "lyric")."""
        return self.holder or self.sign.family or self.sign.name

    @property
    def name(self) -> str:
        """Name of the element, as "staccato", "up-bow", "fingering", "slur", "lyric"."""
        return self.sign.name

    @property
    def edge(self) -> str:
        """Which end it is of something that spans notes: "start", "stop" or "continue"; else ""."""
        return self.sign.edge

    @property
    def text(self) -> str:
        """Its text, where it has one ("3" of a fingering)."""
        return self.sign.text.strip()


@dataclass(frozen=True, slots=True)
class Head:
    """One notehead of an event.

    Attributes:
        pitch: Written pitch, or None when unpitched.
        marks: What is written at it, in the order of the source.
        duration: Its own length in quarter notes where it differs from the chord's; else None.
        printed: How the source prints it, where it has a length of its own; None when the writer may choose.
    """

    pitch: Pitch | None
    marks: tuple[Notation, ...] = ()
    duration: Fraction | None = None
    printed: Printed | None = None

    def tied(self, edge: str) -> bool:
        """Whether a tie that was not merged starts or stops ("start", "stop") here."""
        return any(mark.family == "tied" and mark.edge == edge for mark in self.marks)


@dataclass(frozen=True, slots=True)
class Printed:
    """How the source prints one tied segment (or a grace note), to be printed so again.

    Attributes:
        type: `<type>`, or "" for a rest that fills its bar.
        dots: Number of dots.
        modification: How it is counted in a tuplet; None outside.
        beams: Its beams, in order of level.
    """

    type: str
    dots: int = 0
    modification: TimeModification | Opaque | None = None
    beams: tuple[Beam, ...] = ()


@dataclass(frozen=True, slots=True)
class Event:
    """A note, a chord (one event, several heads) or a rest (no head).

    Attributes:
        onset: Quarter notes from the start of the line.
        duration: Sounding length in quarter notes, tied notes merged; 0 for a grace note.
        heads: Lowest to highest as the source has them; empty for a rest.
        voice: Voice as in the file.
        staff: Staff, from 1.
        segments: The tied segments as printed in the source, in quarter notes (they add up to `duration`);
            empty when the writer may choose how to print the duration.
        printed: How the source prints each segment; empty when the writer may choose. Whoever changes
            the duration empties both, and takes the "tuplet" marks off.
        grace: Written type of a grace note ("eighth"), with "/" in front when slashed; "" otherwise.
        closing: A grace note written in front of the barline that its onset lies on.
        rest_marks: Marks on a rest (fermata).
        hidden: Not printed (`print-object="no"`).
        cue: Printed small and not played.
        full_bar: A rest that fills its bar.
    """

    onset: Fraction
    duration: Fraction
    heads: tuple[Head, ...] = ()
    voice: str = "1"
    staff: int = 1
    segments: tuple[Fraction, ...] = ()
    printed: tuple[Printed, ...] = ()
    grace: str = ""
    closing: bool = False
    rest_marks: tuple[Notation, ...] = ()
    hidden: bool = False
    cue: bool = False
    full_bar: bool = False

    @property
    def is_rest(self) -> bool:
        """No note sounds here."""
        return not self.heads

    @property
    def end(self) -> Fraction:
        """Onset of whatever follows, in quarter notes from the start of the line."""
        return self.onset + self.duration

    @property
    def marks(self) -> list[Notation]:
        """The marks of all its heads."""
        return [mark for head in self.heads for mark in head.marks]


@dataclass(frozen=True, slots=True)
class TimedElement:
    """Something in a bar that is not a note: a direction, attributes, a barline, harmony.

    Attributes:
        bar: Index of the bar in the line's `bars`, from 0.
        onset: Quarter notes from the start of that bar.
        sign: What it is: `Signatures`, a `Direction`, a `Barline` …
        graces: How many grace notes of the same onset stand before it.
    """

    bar: int
    onset: Fraction
    sign: Sign
    graces: int = 0

    @property
    def name(self) -> str:
        """Name of the element, as "direction", "attributes", "barline", "harmony", "print"."""
        return self.sign.name

    @property
    def signs(self) -> tuple[Sign, ...]:
        """The signs of a direction; none of anything else."""
        return self.sign.signs if isinstance(self.sign, Direction) else ()

    @property
    def signatures(self) -> tuple[Sign, ...]:
        """The clefs, keys and times that it says; none of anything else."""
        return self.sign.content if isinstance(self.sign, Signatures) else ()

    @property
    def offset(self) -> Fraction:
        """How many quarter notes later than its place a direction holds."""
        return self.sign.offset if isinstance(self.sign, Direction) else Fraction(0)

    @property
    def tells_tempo(self) -> bool:
        """Whether it says a tempo, or lets one sound."""
        sound = self.sign.sound if isinstance(self.sign, Direction) else self.sign
        sounds = isinstance(sound, Sound) and bool(sound.tempo)
        return sounds or any(sign.name == "metronome" for sign in self.signs)


@dataclass(frozen=True, slots=True)
class Voice:
    """One voice on one staff of an excerpt as events, with all that is needed to write it as MusicXML again.

    Attributes:
        events: In order of onset, grace notes before the note that they lean on.
        bars: The bars, in order; `start` counts from the start of the line.
        placed: What is not a note, in order of bar and onset (attributes before directions).
        measures: The number of each bar as the file has it, and whether it is counted; empty for new music, where
            the bar's label is its number.
        part: What the list of parts says of it.
        head: Elements in front of the list of parts (work, movement-title, identification).
        boxes: As in the excerpt.
        open_ends: As in the excerpt.
        tempo: As in the excerpt.
        origin: As in the excerpt.
        report: As in the excerpt.
        groups: Of bars in a metre that leaves its groups open (5/8), place in the score and the groups in
            quarter notes that the source's beams show; where they show none, the bar is not among them.
    """

    events: tuple[Event, ...]
    bars: tuple[BarRef, ...]
    placed: tuple[TimedElement, ...] = ()
    measures: tuple[MeasureTag, ...] = ()
    part: ScorePart = ScorePart()
    head: tuple[Opaque, ...] = ()
    boxes: tuple[Box, ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    tempo: Tempo | None = None
    origin: Origin = Origin()
    report: tuple[ReportLine, ...] = ()
    groups: tuple[tuple[int, tuple[Fraction, ...]], ...] = ()

    def time_of(self, placed: TimedElement) -> Fraction:
        """When something that is not a note comes, in quarter notes from the start of the line, as it is placed."""
        return self.bars[placed.bar].start + placed.onset

    def bar_at(self, time: Fraction) -> int:
        """Index of the bar that holds a time in quarter notes from the start of the line."""
        return max(0, bisect_right([bar.start for bar in self.bars], time) - 1)
