"""The notes that marks are put at: found by beat, or as the grace notes before it; and what stands at one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import is_cue
from excerpts.musicxml.pitch import midi_of
from excerpts.musicxml.timeline import Moment
from excerpts.score.bars import Bars
from excerpts.score.marking_syntax import NONE, Kind
from excerpts.score.pairing import pair_spans
from excerpts.score.slice import heads_of, voice_of

ELEMENTS: Final[dict[Kind, tuple[str, ...]]] = {
    "finger": ("fingering", "thumb-position", "open-string"),
    "bow": ("up-bow", "down-bow"),
    "string": ("string",),
}
"""The elements of MusicXML that each kind of mark stands for."""

_BARS_ON: Final = 8
"""Bars in which the end of a slur is looked for."""


@dataclass(frozen=True, slots=True)
class MarkedNote:
    """A note: index of its bar from 0, and its moment; of a chord the first that is written."""

    bar: int
    moment: Moment

    @property
    def note(self) -> etree._Element:
        """The note itself."""
        return self.moment.element

    @property
    def grace(self) -> bool:
        """Whether it is a grace note."""
        return "grace" in self.moment.children

    @property
    def heads(self) -> list[etree._Element]:
        """The notes of a chord from the lowest up; of a single note itself."""
        return sorted(heads_of(self.note), key=lambda note: midi_of(note) or Fraction(0))


def notes_of(bars: Bars, index: int, voice: str = "") -> list[MarkedNote]:
    """The notes of a bar in order of time: one of a chord, grace notes too, no rests and no cues.

    Args:
        bars: The bars.
        index: Which of them, from 0.
        voice: One voice alone.
    """
    moments = [m for m in bars.time(index).moments if m.element.tag == "note" and _leads(m)]
    found = [MarkedNote(index, m) for m in sorted(moments, key=lambda m: m.onset)]
    return [place for place in found if not voice or voice_of(place.note) == voice]


def graces_before(bars: Bars, index: int, onset: Fraction, voice: str = "") -> list[MarkedNote]:
    """The grace notes that lead to what begins at a point, in order; those at the end of the bar before among them.

    Where no voice is asked for, those of the first that has some.

    Args:
        bars: The bars.
        index: The bar, from 0; one behind the last asks for the end of the last.
        onset: Quarter notes from its start.
        voice: The voice.
    """
    found: list[MarkedNote] = []
    if not onset and index > 0:
        end = bars.length(index - 1)
        found += [place for place in notes_of(bars, index - 1, voice) if place.moment.onset == end]
    if index < len(bars):
        found += [place for place in notes_of(bars, index, voice) if place.moment.onset == onset]
    found = [place for place in found if place.grace]
    return [place for place in found if voice_of(place.note) == voice_of(found[0].note)]


def note_at(bars: Bars, index: int, onset: Fraction, voice: str = "", grace: int = 0) -> MarkedNote | None:
    """The note that begins at a point, or one of the grace notes that lead to it, counted from 1; None for none."""
    if grace:
        return next(iter(graces_before(bars, index, onset, voice)[grace - 1 :]), None)
    here = (place for place in notes_of(bars, index, voice) if not place.grace)
    return next((place for place in here if place.moment.onset == onset), None)


def standing(place: MarkedNote, kind: Kind) -> tuple[str, ...]:
    """The fingers or strings that stand at a note or chord, from the lowest up, or its bow; empty for none."""
    heads = place.heads
    values = tuple(next(_values(head, kind), NONE) for head in heads)
    if kind == "bow":
        return tuple(value for value in values if value != NONE)[:1]
    return values if set(values) != {NONE} else ()


def _values(head: etree._Element, kind: Kind) -> Iterator[str]:
    for tag in ELEMENTS[kind]:
        for element in head.iterfind(f"notations/technical/{tag}"):
            said = {"thumb-position": "T", "open-string": "0"}.get(tag) or (element.text or "").strip()
            yield tag.removesuffix("-bow") if kind == "bow" else said


def slur_from(bars: Bars, place: MarkedNote) -> MarkedNote | None:
    """The note on which the slur ends that begins at a note; None where none begins there."""
    last = min(place.bar + _BARS_ON, len(bars) - 1)
    for start, stop in pair_spans(bars, place.bar, last).pairs:
        if start.kind == "slur" and start.holder in place.heads:
            ends = (one for index in range(place.bar, last + 1) for one in notes_of(bars, index))
            return next((one for one in ends if stop.holder in one.heads), None)
    return None


def slurred(bars: Bars, place: MarkedNote) -> bool:
    """Whether a note stands under a slur, its first and last note included."""
    first, last = max(place.bar - _BARS_ON, 0), min(place.bar + _BARS_ON, len(bars) - 1)
    run = [one for index in range(first, last + 1) for one in notes_of(bars, index, voice_of(place.note))]
    at = {head: number for number, one in enumerate(run) for head in heads_of(one.note)}
    slurs = (pair for pair in pair_spans(bars, first, last).pairs if pair[0].kind == "slur")
    ends = ((at.get(start.holder, len(run)), at.get(stop.holder, -1)) for start, stop in slurs)
    return any(begin <= at[place.note] <= end for begin, end in ends)


def _leads(moment: Moment) -> bool:
    """Whether a moment is a note or grace note, and the first that is written of its chord."""
    timed = bool(moment.duration) or "grace" in moment.children
    return timed and not {"rest", "chord"} & moment.children.keys() and not is_cue(moment.element)
