"""The excerpt: self-contained music with its box, the one value that every stage takes and gives.

Cutting makes excerpts, warm-ups make them, variants turn one into another, engraving draws them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from lxml import etree

from excerpts.musicxml.format import parse_own


@dataclass(frozen=True, slots=True)
class BarRef:
    """One `<measure>` of an excerpt.

    Attributes:
        place: Place of the bar in its source file, counted from 1, every `<measure>` once.
        label: The bar number as printed in the source (a token: "12", "12a", "X1").
        start: Onset of the bar in quarter notes from the start of the excerpt.
        length: Real length of the bar in quarter notes (a pick-up bar is short).
        count: For how many bars of rest it stands, itself counted.
    """

    place: int
    label: str
    start: Fraction
    length: Fraction
    count: int = 1

    @property
    def end(self) -> Fraction:
        """Where the next bar starts, in quarter notes from the start of the excerpt."""
        return self.start + self.length


def bar_label(bars: Sequence[BarRef], index: int) -> str:
    """The number of a bar as every message tells it: "5"; "5 (@12)" where it comes twice, "@12" without one."""
    bar = bars[index]
    if not bar.label:
        return f"@{bar.place}"
    twice = sum(other.label == bar.label for other in bars) > 1
    return f"{bar.label} (@{bar.place})" if twice else bar.label


def bar_name(bars: Sequence[BarRef], index: int) -> str:
    """A bar as every message names it: "bar 5"."""
    return f"bar {bar_label(bars, index)}"


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A point in an excerpt: index of the bar in `Excerpt.bars` from 0, and quarter notes from its start."""

    bar: int
    onset: Fraction


@dataclass(frozen=True, slots=True)
class Box:
    """A passage chosen for work in depth, from `start` up to but not including `end`.

    A box of whole bars ends in its last bar at that bar's length, not in the next bar at 0.
    """

    start: Position
    end: Position

    @property
    def last_bar(self) -> int:
        """The last bar that some of it lies in."""
        return self.end.bar if self.end.onset > 0 else self.end.bar - 1


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """A tie, slur or hairpin that the cut left open, for the engraver to draw up to the edge.

    Attributes:
        kind: What is open.
        edge: "start" when it comes in from before the excerpt, "end" when it goes on after it.
        at: The note (its onset) or, for hairpins, the point inside the excerpt that it hangs on.
        staff: Number of the staff, from 1; counted on from part to part where the excerpt has several.
        voice: Voice of the note, as in the file; empty for hairpins.
        pitch: Step, alter and octave of the tied or slurred note as "C#4", empty for hairpins.
        detail: "above" or "below" where the source places it; "crescendo" or "diminuendo" for hairpins.
    """

    kind: Literal["tie", "slur", "hairpin"]
    edge: Literal["start", "end"]
    at: Position
    staff: int = 1
    voice: str = "1"
    pitch: str = ""
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Tempo:
    """A metronome mark: `number` beats a minute, the beat being `unit` quarter notes long (3/2 = dotted)."""

    number: Fraction
    unit: Fraction = Fraction(1)

    @property
    def quarters_per_minute(self) -> Fraction:
        """The same tempo counted in quarter notes a minute (MusicXML's `sound@tempo`)."""
        return self.number * self.unit


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an excerpt comes from.

    Attributes:
        score: File name of the score, or "" for music made by this program.
        title: Title of the piece as the file gives it.
        composer: Composer as the file gives it.
        part: Name of the part.
        part_id: Id of the part in the source.
        address: The address as the teacher wrote it ("41-48").
        variant: Variant that was applied, as written ("separate+long-short"); "" for the music as it stands.
        first_bar: What its first bar is called, as `excerpts.score.numbering` tells it; "" for music made by us.
        last_bar: What its last bar is called.
        pickup: Whether it begins with a pick-up, and with which.
    """

    score: str = ""
    title: str = ""
    composer: str = ""
    part: str = ""
    part_id: str = ""
    address: str = ""
    variant: str = ""
    first_bar: str = ""
    last_bar: str = ""
    pickup: str = ""

    def where(self, bars: str = "") -> str:
        """The place as every message names it: "loom-study.musicxml, bars 5-6"; music of ours by its bars alone.

        Args:
            bars: One of its bars, as `bar_name` names it; all of them when left out.
        """
        several = any(dash in self.address for dash in "-\u2013\u2014")
        own = f"bars {self.address}" if several else self.address and f"bar {self.address}"
        return ", ".join(part for part in (self.score, bars or own) if part)


_SAID: Final = {
    "bracket": "bracket line",
    "contact": "place of the bow",
    "extend": "line behind a syllable",
    "fingering": "finger",
    "for-part": "transposition of the part",
    "hammer-on": "hammer-on",
    "instruments": "number of instruments",
    "jump": "jump in playback",
    "measure-repeat": "bar repeat",
    "multiple-rest": "rest of several bars",
    "octave-shift": "octave sign",
    "part-symbol": "bracket of the staves",
    "pedal": "pedal mark",
    "plucking": "pizzicato or col legno",
    "pull-off": "pull-off",
    "score": "the score",
    "staff-details": "staff lines",
    "staves": "number of staves",
    "teacher-mark": "mark of the teacher's",
    "time": "time signature",
    "transpose": "transposition",
    "wavy-line": "trill line",
    "wedge": "hairpin",
}
"""What things are called in trade words, where that is not their own name with spaces for hyphens."""


def span_of_boxes(bars: Sequence[BarRef], boxes: Sequence[Box]) -> tuple[Fraction, Fraction]:
    """Start of the first box and end of the last, in quarter notes; all of the bars where there is no box."""
    if not boxes:
        return bars[0].start, bars[-1].end
    start, end = boxes[0].start, boxes[-1].end
    return bars[start.bar].start + start.onset, bars[end.bar].start + end.onset


@dataclass(frozen=True, slots=True)
class ReportLine:
    """One thing that was not simply copied.

    Attributes:
        action: What was done with it.
        thing: What it is, as programs may rely on ("octave-shift"): the name of its element where it is one.
        bar: Label of the bar it concerns.
        detail: What it was, in words ("3 flats", "to bar 49").
        whose: Which of several, in words ("of staff 2", "(Violin)").
    """

    action: Literal["carried", "closed", "opened", "restated", "repaired", "dropped", "warning"]
    thing: str
    bar: str = ""
    detail: str = ""
    whose: str = ""

    @property
    def id(self) -> str:
        """What kind of line it is, whatever words say it: "restated.octave-shift"."""
        return f"{self.action}.{self.thing}"

    @property
    def what(self) -> str:
        """The thing in trade words: "octave sign"."""
        said = _SAID.get(self.thing, self.thing.replace("-", " "))
        return f"{said} {self.whose}" if self.whose else said

    def __str__(self) -> str:
        place = f" in bar {self.bar}" if self.bar else ""
        tail = f": {self.detail}" if self.detail else ""
        return f"{self.action} {self.what}{place}{tail}"


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Self-contained music with the boxes in it: of one part, or of several cut at the same bars.

    Attributes:
        xml: A valid MusicXML 4.0 document; files are written from these bytes alone.
        bars: The bars in order.
        boxes: The boxes, in order; empty for music that is practised whole (warm-ups).
        open_ends: What the cut left open.
        tempo: The tempo in force at its start, or None where the source tells none.
        origin: Where it comes from.
        report: What was carried over, closed, restated, repaired or dropped in making it.
    """

    xml: bytes
    bars: tuple[BarRef, ...]
    boxes: tuple[Box, ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    tempo: Tempo | None = None
    origin: Origin = Origin()
    report: tuple[ReportLine, ...] = ()

    def tree(self, *, blanks: bool = True) -> etree._Element:
        """Parse a fresh copy of the music; changing it does not change the excerpt.

        Args:
            blanks: Whether to keep the white space that only indents it.
        """
        return parse_own(self.xml, blanks=blanks)
