"""The bars being cut: copies of the source's measures that the steps of the cut then mend, and the report."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from itertools import takewhile
from typing import Literal

from lxml import etree

from excerpts.excerpt import OpenEnd, Position, ReportLine
from excerpts.musicxml.format import child_of_note
from excerpts.musicxml.timeline import BarTime, Moment, walk
from excerpts.score.attributes import State
from excerpts.score.bars import Bars
from excerpts.score.numbering import shifted

_HOLDERS = ("notations", "ornaments", "technical", "articulations", "direction-type", "lyric")

Action = Literal["carried", "closed", "opened", "restated", "repaired", "dropped", "warning"]


@dataclass(slots=True)
class Slice:
    """Measures `first` to `last` of a part (indexes from 0, both included), copied.

    Attributes:
        bars: The bars of the source part; never changed.
        first: Index of the first measure of the slice.
        last: Index of the last.
        state: What is in force before the first measure.
        measures: The copies.
        copies: Source element to copy, for every element of the slice.
        times: Timing of each measure of the source (their moments name source elements).
        report: What was done, each line once, in order.
        open_ends: What was left open.
        pupil_bars: How much higher the bar numbers of the pupil's own edition are.
    """

    bars: Bars
    first: int
    last: int
    state: State
    measures: list[etree._Element]
    copies: dict[etree._Element, etree._Element]
    times: list[BarTime]
    report: dict[ReportLine, None] = field(default_factory=dict)
    open_ends: list[OpenEnd] = field(default_factory=list)
    pupil_bars: int = 0

    def note_down(
        self, action: Action, thing: str, index: int | None = None, detail: str = "", whose: str = ""
    ) -> None:
        """Add a line to the report; `index` is that of the measure in the source, from 0."""
        bar = "" if index is None else self.label(index)
        self.report[ReportLine(action, thing, bar, detail, whose)] = None

    def label(self, index: int) -> str:
        """The bar number of measure `index` of the source, as the pupil reads it."""
        return shifted(self.bars.labels[index], self.pupil_bars)

    def holds(self, index: int) -> bool:
        """Whether measure `index` of the source is in the slice."""
        return self.first <= index <= self.last

    def moments(self) -> list[tuple[int, Moment]]:
        """All moments with the index of their measure in the source, in document order."""
        return [(self.first + k, moment) for k, time in enumerate(self.times) for moment in time.moments]

    def voice_notes(self, voice: str, staff: str, *, rests: bool = False) -> list[tuple[int, Moment]]:
        """The notes of a voice (one for a chord, grace notes too), in order of time.

        A voice that wanders between staves is followed; where the source names no voices, the staff decides.
        """
        notes = [
            (index, moment)
            for index, moment in self.moments()
            if moment.element.tag == "note"
            and "chord" not in moment.children
            and (rests or "rest" not in moment.children)
            and moment.voice == voice
            and (voice or moment.staff == staff)
        ]
        return sorted(notes, key=lambda pair: (pair[0], pair[1].onset))

    def position(self, index: int, moment: Moment) -> Position:
        """The moment as a position in the excerpt."""
        return Position(index - self.first, moment.onset)


def cut_slice(bars: Bars, first: int, last: int) -> Slice:
    """Copy measures `first` to `last` (indexes from 0) and time them."""
    state = bars.state(first)
    measures, times = [], []
    copies: dict[etree._Element, etree._Element] = {}
    divisions = state.divisions
    for measure in bars.measures[first : last + 1]:
        copy = deepcopy(measure)
        copies.update(zip(measure.iter(), copy.iter(), strict=True))
        time = walk(measure, divisions)
        divisions = time.divisions
        measures.append(copy)
        times.append(time)
    return Slice(bars, first, last, state, measures, copies, times)


def voice_of(element: etree._Element) -> str:
    """Voice of a note or direction, "" where it has none."""
    return (element.findtext("voice") or "").strip()


def staff_of(element: etree._Element) -> str:
    """Staff of a note or direction, "1" where it has none."""
    return (element.findtext("staff") or "1").strip()


def remove(element: etree._Element) -> None:
    """Take an element out, and each parent that is empty without it, up to the note, direction or bar.

    A direction that loses all its types goes too; the `<sound>` in it stays in the bar, at the same time.
    """
    parent = element.getparent()
    if parent is None:
        return
    parent.remove(element)
    if parent.tag in _HOLDERS and next(parent.iterchildren(), None) is None:
        remove(parent)
    elif parent.tag == "direction" and parent.find("direction-type") is None:
        above, sound, offset = parent.getparent(), parent.find("sound"), parent.find("offset")
        if above is not None:
            if sound is not None:
                if offset is not None and sound.find("offset") is None:
                    sound.append(offset)
                above.insert(above.index(parent), sound)
            remove(parent)


def notations_of(note: etree._Element) -> etree._Element:
    """The (first) `<notations>` of a note, made in its right place where there is none."""
    return child_of_note(note, "notations")


def technical_of(note: etree._Element) -> etree._Element:
    """The `<technical>` of a note, made where there is none."""
    notations = notations_of(note)
    technical = notations.find("technical")
    return technical if technical is not None else etree.SubElement(notations, "technical")


def heads_of(note: etree._Element) -> list[etree._Element]:
    """A note with the others of its chord, which stand behind it."""
    others = takewhile(lambda other: other.find("chord") is not None, note.itersiblings("note"))
    return [note, *others]
