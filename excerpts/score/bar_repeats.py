"""Signs that say "once more the bar (or beat) before", written out as notes.

Sources may leave such bars empty, and a cut would lose the bar that they point at (W3C MusicXML 4.0,
`measure-repeat` and `beat-repeat`). Where the notes stand under the sign already, only the sign goes.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import drop, number_in
from excerpts.musicxml.metre import Metre, metre_of
from excerpts.musicxml.timeline import (
    MOVES,
    BarTime,
    Moment,
    PlacedElement,
    placed,
    plain,
    walk,
    write_measure,
)
from excerpts.score.attributes import State
from excerpts.score.bar_faults import Repair

_SIGNS: Final = ("measure-repeat", "beat-repeat")

_Notes = list[tuple[Fraction, PlacedElement]]
"""Notes of a pattern: onset from its start, and the note."""


@dataclass(slots=True)
class _Running:
    """A sign in force.

    Attributes:
        kind: "measure-repeat" or "beat-repeat".
        staff: Number of the staff, or None for all.
        bar: Index of the measure that it began in.
        onset: Where in that measure it began.
        count: Bars that are repeated together.
        pattern: The beat that is repeated.
        step: Length of that beat.
        divisions: Divisions of a quarter note that its notes count in.
    """

    kind: str
    staff: str | None
    bar: int
    onset: Fraction
    count: int = 1
    pattern: _Notes = field(default_factory=list)
    step: Fraction = Fraction(1)
    divisions: Fraction = Fraction(1)


def has_repeats(attributes: Sequence[etree._Element]) -> bool:
    """Whether a part with these attributes in its bars has signs that repeat bars or beats."""
    styles = (style for one in attributes for style in one.iterchildren("measure-style"))
    return any(next(style.iterchildren(*_SIGNS), None) is not None for style in styles)


def write_out_repeats(measures: list[etree._Element]) -> list[Repair]:
    """Write out the repeat signs of a part; its measures are changed."""
    return _Writer(measures).run()


class _Writer:
    def __init__(self, measures: list[etree._Element]) -> None:
        self.measures = measures
        self.divisions: list[Fraction] = []
        self.running: dict[tuple[str, str | None], _Running] = {}
        self.done: list[Repair] = []

    def run(self) -> list[Repair]:
        state = State()
        for index, measure in enumerate(self.measures):
            self.divisions.append(state.divisions)
            time = walk(measure, state.divisions)
            for moment in time.moments:
                if moment.element.tag == "attributes" and moment.onset == 0:
                    state.take(moment.element)
            metre = metre_of(state.time)
            for moment in time.moments:
                if moment.element.tag == "attributes":
                    if moment.onset > 0:
                        state.take(moment.element)
                    self._signs(moment, index, metre)
            for sign in list(self.running.values()):
                time = walk(measure, self.divisions[index])
                self._fill(sign, index, time, metre)
            state.divisions = time.divisions
        return self.done

    def _signs(self, moment: Moment, index: int, metre: Metre) -> None:
        for style in moment.element.findall("measure-style"):
            staff = style.get("number")
            for kind in _SIGNS:
                sign = style.find(kind)
                if sign is None:
                    continue
                if sign.get("type") == "start":
                    self._begin(kind, staff, sign, index, moment.onset, metre)
                else:
                    self.running.pop((kind, staff), None)
                moment.element.remove(style)
                self.done.append(Repair(index, kind, "written out as notes"))

    def _begin(
        self, kind: str, staff: str | None, sign: etree._Element, index: int, onset: Fraction, metre: Metre
    ) -> None:
        bars = number_in(sign.text)
        count = int(bars) if bars is not None and 1 <= bars <= 16 else 1
        running = _Running(kind, staff, index, onset, count)
        if kind == "beat-repeat":
            running.step = _beat_before(metre, onset)
            running.pattern = self._beat(index, onset, running)
        self.running[kind, staff] = running

    def _beat(self, index: int, onset: Fraction, running: _Running) -> _Notes:
        bar = index if onset > 0 else index - 1
        if bar < 0:
            return []
        time = walk(self.measures[bar], self.divisions[bar])
        running.divisions = time.divisions
        stop = onset if onset > 0 else time.length
        return [
            (moment.onset - stop + running.step, placed(moment))
            for moment in time.moments
            if _on(moment, running.staff) and stop - running.step <= moment.onset < stop
        ]

    def _fill(self, sign: _Running, index: int, time: BarTime, metre: Metre) -> None:
        begin = sign.onset if sign.kind == "beat-repeat" and sign.bar == index else Fraction(0)
        if any(_sounds(m) for m in time.moments if _on(m, sign.staff) and m.onset >= begin):
            return
        length = max(time.length, metre.length)
        if sign.kind == "measure-repeat":
            source = sign.bar - sign.count + (index - sign.bar) % sign.count
            if source < 0:
                return
            theirs = walk(self.measures[source], self.divisions[source])
            notes = [(m.onset, placed(m)) for m in theirs.moments if _on(m, sign.staff)]
            scale, length = time.divisions / theirs.divisions, theirs.length
        else:
            notes = []
            at = begin
            while sign.pattern and at < length:
                notes += [(at + onset, note) for onset, note in sign.pattern]
                at += sign.step
            scale = time.divisions / sign.divisions
        if notes:
            self._write(index, time, _copies(notes, scale, length), sign.staff, begin, length)

    def _write(
        self,
        index: int,
        time: BarTime,
        new: list[PlacedElement],
        staff: str | None,
        begin: Fraction,
        length: Fraction,
    ) -> None:
        kept = [
            placed(moment)
            for moment in time.moments
            if moment.element.tag not in MOVES and not (_on(moment, staff) and moment.onset >= begin)
        ]
        tail = [item for item in kept if item.element.get("location") == "right"]
        front = [item for item in kept if item not in tail]
        write_measure(self.measures[index], [*front, *new, *tail], self.divisions[index], length)


def _on(moment: Moment, staff: str | None) -> bool:
    note = moment.element
    return note.tag == "note" and (staff is None or (note.findtext("staff") or "1").strip() == staff)


def _sounds(moment: Moment) -> bool:
    return moment.element.find("rest") is None


def _beat_before(metre: Metre, onset: Fraction) -> Fraction:
    """Length of the beat that ends at `onset`, or of the last beat of a bar."""
    end = Fraction(0)
    for beat in metre.counts:
        end += beat
        if end >= onset > 0:
            return beat
    return metre.counts[-1] if metre.counts else Fraction(1)


def _copies(notes: _Notes, scale: Fraction, length: Fraction) -> list[PlacedElement]:
    """Copies of notes for another place: no ids, no ties out of the pattern, no slurs with one end."""
    copies: list[PlacedElement] = []
    for onset, note in notes:
        copy = deepcopy(note.element)
        copy.attrib.pop("id", None)
        duration = copy.find("duration")
        if duration is not None and scale != 1:
            duration.text = plain((number_in(duration.text) or Fraction(0)) * scale)
        for kind, leaves in (("stop", onset == 0), ("start", onset + note.moves == length)):
            if leaves:
                _untie(copy, kind)
        copies.append(PlacedElement(copy, onset, note.moves))
    _drop_half_spans([item.element for item in copies])
    return copies


def _untie(note: etree._Element, kind: str) -> None:
    for path in ("tie", "notations/tied"):
        for mark in [mark for mark in note.iterfind(path) if mark.get("type") == kind]:
            drop(mark)


def _drop_half_spans(notes: list[etree._Element]) -> None:
    ends: dict[tuple[str, str], list[etree._Element]] = {}
    for note in notes:
        for mark in note.iterfind("notations//*[@type]"):
            if mark.tag != "tied" and mark.get("type") in ("start", "stop"):
                ends.setdefault((str(mark.tag), mark.get("number") or "1"), []).append(mark)
    for marks in ends.values():
        if sum(1 if mark.get("type") == "start" else -1 for mark in marks):
            for mark in marks:
                drop(mark)
