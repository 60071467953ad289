"""Events of one voice on one staff, and the line of bars that they stand in.

All times are exact: `fractions.Fraction` of a quarter note, from the start of the line.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from excerpts.excerpt import BarRef, Box, OpenEnd, Origin, ReportLine, Tempo
from excerpts.musicxml.pitch import Pitch


@dataclass(frozen=True, slots=True)
class Notation:
    """One thing that is written at a note, kept as the source wrote it.

    Attributes:
        family: Element that holds it: "articulations", "technical", "ornaments", "slur", "fermata",
            "arpeggiate", "lyric", "notehead", "accidental", "dynamics", "instrument" …
        name: Element itself: "staccato", "up-bow", "fingering", "string", "slur", "lyric" …
        xml: The element as text, self-contained, without a namespace.
        edge: "start", "stop" or "continue" for marks that span notes (slur, glissando, wavy line), else "".
            A "tied" mark with an edge is a tie that could not be merged: one note of a chord, or a loose end.
        text: Its text where it has one ("3" of a fingering).
        segment: Which of the tied segments it stands on, from 0; -1 = the last of several.
    """

    family: str
    name: str
    xml: str
    edge: str = ""
    text: str = ""
    segment: int = 0


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


@dataclass(frozen=True, slots=True)
class Printed:
    """How the source prints one tied segment (or a grace note), to be printed so again.

    Attributes:
        type: `<type>`, or "" for a rest that fills its bar.
        dots: Number of dots.
        modification: `<time-modification>` as text, or "" outside tuplets.
        beams: The `<beam>` elements as text, in order of level.
    """

    type: str
    dots: int = 0
    modification: str = ""
    beams: tuple[str, ...] = ()


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


@dataclass(frozen=True, slots=True)
class TimedElement:
    """Something in a bar that is not a note: a direction, attributes, a barline, harmony.

    Attributes:
        bar: Index of the bar in the line's `bars`, from 0.
        onset: Quarter notes from the start of that bar.
        name: Element: "direction", "attributes", "barline", "harmony", "print" …
        xml: The element as text. Lengths in it (`<offset>`, the `<duration>` of a figured bass) are quarter
            notes as a fraction ("1/2"), because the writer chooses the divisions; there is no `<divisions>`.
        graces: How many grace notes of the same onset stand before it.
    """

    bar: int
    onset: Fraction
    name: str
    xml: str
    graces: int = 0


@dataclass(frozen=True, slots=True)
class Voice:
    """One voice on one staff of an excerpt as events, with all that is needed to write it as MusicXML again.

    Attributes:
        events: In order of onset, grace notes before the note that they lean on.
        bars: The bars, in order; `start` counts from the start of the line.
        placed: What is not a note, in order of bar and onset (attributes before directions).
        measures: The start tag of each bar as an empty element (`<measure number="0" implicit="yes"/>`);
            empty for new music, where the bar's label is its number.
        part: `<score-part>` as text.
        head: Elements in front of `<part-list>` (work, movement-title, identification) as text.
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
    measures: tuple[str, ...] = ()
    part: str = '<score-part id="P1"><part-name/></score-part>'
    head: str = ""
    boxes: tuple[Box, ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    tempo: Tempo | None = None
    origin: Origin = Origin()
    report: tuple[ReportLine, ...] = ()
    groups: tuple[tuple[int, tuple[Fraction, ...]], ...] = ()

    def bar_at(self, time: Fraction) -> int:
        """Index of the bar that holds a time in quarter notes from the start of the line."""
        return max(0, bisect_right([bar.start for bar in self.bars], time) - 1)
