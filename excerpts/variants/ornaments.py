"""Grace notes and trills, which a rhythm leaves no time for: taken off its notes, and told."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import ReportLine
from excerpts.notes import Event, Notation, Voice
from excerpts.variants.spanning_marks import End, add_mark, map_marks, slurs

LEFT_OUT: Final = {
    "trill-mark", "turn", "delayed-turn", "inverted-turn", "delayed-inverted-turn", "vertical-turn",
    "inverted-vertical-turn", "shake", "wavy-line", "mordent", "inverted-mordent", "schleifer", "haydn",
}  # fmt: skip
"""Ornaments that a rhythm leaves no time for."""


def without_ornaments(
    line: Voice, events: tuple[Event, ...], varied: set[int], why: str = "left out of the rhythm"
) -> tuple[tuple[Event, ...], tuple[ReportLine, ...]]:
    """Leave grace notes and trills of varied notes out, and say so."""
    report: list[ReportLine] = []

    def note_down(what: str, onset: Fraction) -> None:
        label = line.bars[line.bar_at(onset)].label
        entry = ReportLine("dropped", what, label, why)
        if entry not in report:
            report.append(entry)

    def change(end: End, mark: Notation) -> Notation | None:
        if end.event in varied and mark.name in LEFT_OUT:
            if mark.edge != "stop":
                what = "trill" if mark.name in {"trill-mark", "wavy-line"} else "ornament"
                note_down(what, events[end.event].onset)
            return None
        return mark

    gone = {i for i, event in enumerate(events) if event.grace and _main(events, i) in varied}
    for index in sorted(gone):
        note_down("grace-note", events[index].onset)
    plain = map_marks(_slurs_off(events, gone), change)
    return tuple(event for index, event in enumerate(plain) if index not in gone), tuple(report)


def _slurs_off(events: tuple[Event, ...], gone: set[int]) -> tuple[Event, ...]:
    """Move the ends of slurs from notes that go to the next note inside; slurs of one note vanish."""
    ends: list[tuple[int, int, Notation, Notation]] = []
    for slur in slurs(events):
        if slur.start in gone or slur.stop in gone:
            inside = [i for i in range(slur.start, slur.stop + 1) if i not in gone and not events[i].is_rest]
            if len(inside) > 1:
                ends.append((inside[0], inside[-1], slur.first, slur.last))
            events = _without(events, slur.start, slur.first)
            events = _without(events, slur.stop, slur.last)
    for start, stop, first, last in ends:
        events = add_mark(events, start, replace(first, segment=0))
        events = add_mark(events, stop, replace(last, segment=-1))
    return events


def _without(events: tuple[Event, ...], index: int, gone: Notation) -> tuple[Event, ...]:
    """Take one mark off an event."""
    return map_marks(events, lambda end, mark: None if end.event == index and mark == gone else mark)


def _main(events: tuple[Event, ...], grace: int) -> int:
    """Index of the note that a grace note leans on: the one after it, or before it at a bar's end."""
    step = -1 if events[grace].closing else 1
    index = grace
    while 0 <= index < len(events) and events[index].grace:
        index += step
    return index
