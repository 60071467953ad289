"""The teacher's own fingers, bows, slurs and strings, put into a cut in place of what stands there.

How they are written down is told in `excerpts.score.marking_syntax`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt, ReportLine
from excerpts.musicxml.format import serialise
from excerpts.score.address import Resolver, beat_at
from excerpts.score.bars import Bars
from excerpts.score.marked_note import ELEMENTS, MarkedNote, graces_before, note_at, notes_of
from excerpts.score.marking_syntax import NONE, Kind, MarkError, OwnMark, parse_mark
from excerpts.score.pairing import pair_spans
from excerpts.score.slice import notations_of, remove, technical_of, voice_of

_MOST_SLURS: Final = 16
"""Highest number that tells spans apart (W3C MusicXML 4.0, number-level)."""


def with_marks(
    excerpt: Excerpt, marks: Sequence[str], resolver: Resolver | None = None, *, outside: bool = False
) -> Excerpt:
    """Put marks into an excerpt.

    Args:
        excerpt: The excerpt.
        marks: The marks as the teacher wrote them; a later one replaces an earlier one.
        resolver: Finds bars in the part that the excerpt was cut from; None to look in the excerpt itself.
        outside: Pass over marks on bars that the excerpt does not show, for they are meant for others.

    Raises:
        MarkError: A mark is none, or there is no note for it.
        AddressError: There is no such bar or beat.
    """
    if not marks:
        return excerpt
    writer = MarkWriter(excerpt, resolver)
    for mark in marks:
        writer.put(parse_mark(mark), outside=outside)
    return replace(excerpt, xml=serialise(writer.root), report=(*excerpt.report, *writer.report))


class MarkWriter:
    """Finds the notes that marks mean, and puts the marks in; the resolver is as `with_marks` takes it."""

    def __init__(self, excerpt: Excerpt, resolver: Resolver | None) -> None:
        self.excerpt = excerpt
        self.root = excerpt.tree()
        self.report: list[ReportLine] = []
        part = self.root.find("part")
        assert part is not None  # every excerpt has one
        self.bars = Bars(part)
        self._resolver = resolver or Resolver(self.bars, excerpt.origin.score or "the passage")
        self._first = excerpt.bars[0].place - 1 if resolver is not None else 0
        self._source = resolver.bars if resolver is not None else self.bars
        self._notes: dict[str, list[MarkedNote]] = {}

    def find(self, mark: OwnMark, *, outside: bool = False) -> list[MarkedNote]:
        """The notes of a mark: one, or first and last of a slur; none where it may be `outside` the excerpt, and is.

        Raises:
            MarkError: There is no note for it.
            AddressError: There is no such bar or beat.
        """
        places = [self._resolver.resolve(address) for address in mark.beats]
        points = [(place.first - self._first, place.start) for place in places]
        pairs = list(zip(points, mark.graces, strict=True))
        if not all(self._holds(*point, grace) for point, grace in pairs):
            if outside:
                return []
            shown = self.excerpt.bars
            raise MarkError(
                f"'{mark.text}' is not in this passage.",
                hint=f"It shows bars {shown[0].label} to {shown[-1].label}.",
            )
        return [
            self._note(mark, address, *point, grace)
            for address, (point, grace) in zip(mark.beats, pairs, strict=True)
        ]

    def _holds(self, bar: int, onset: Fraction, grace: int) -> bool:
        """Whether a note would stand in the excerpt; grace notes at the end of a bar are those of the next one's."""
        if not grace or onset:
            return 0 <= bar < len(self.bars)
        return 0 <= bar <= len(self.bars) and grace > self._before(bar)

    def _before(self, bar: int) -> int:
        """How many of the grace notes that lead to a bar stand in the part in front of the excerpt."""
        if bar or not self._first:
            return 0
        ahead = graces_before(self._source, self._first, Fraction(0))
        return sum(one.bar < self._first for one in ahead)

    def put(self, mark: OwnMark, *, outside: bool) -> None:
        """Put one mark in."""
        notes = self.find(mark, outside=outside)
        if not notes:
            return
        if mark.kind == "slur":
            self._put_slur(mark, notes[0], notes[-1])
        else:
            self._say(mark, notes[0].bar, _replace(notes[0].heads, mark))

    def _say(self, mark: OwnMark, bar: int, was: str) -> None:
        written = mark.text.partition(" ")[2]
        detail = f"{written}, in place of {was}" if was else written
        self.report.append(ReportLine("carried", "teacher-mark", self.excerpt.bars[bar].label, detail))

    def notes(self, voice: str = "") -> list[MarkedNote]:
        """The notes of the excerpt in order of time: one of a chord, grace notes too, no rests and no cues."""
        if not self._notes:  # marks put in no notes and take none out
            self._notes[""] = [
                place for index in range(len(self.bars)) for place in notes_of(self.bars, index)
            ]
        if voice not in self._notes:
            self._notes[voice] = [place for place in self._notes[""] if voice_of(place.note) == voice]
        return self._notes[voice]

    def _note(self, mark: OwnMark, address: str, bar: int, onset: Fraction, grace: int) -> MarkedNote:
        """The note that begins at a point, or a grace note before it."""
        number = grace - self._before(bar) if grace and not onset else grace
        place = note_at(self.bars, bar, onset, mark.voice, number)
        if place is not None:
            return place
        if grace:
            there = len(graces_before(self.bars, bar, onset, mark.voice))
            raise MarkError(
                f"'{mark.text}': there is no such grace note before {address}.",
                hint=f"It has {there}." if there else "It has none.",
            )
        here = [place for place in notes_of(self.bars, bar, mark.voice) if not place.grace]
        run = self.bars.run_at(bar)
        beats = [beat_at(self.bars, run, bar, place.moment.onset) for place in here]
        listed = ", ".join(dict.fromkeys(f"{float(beat):.4g}" for beat in beats if beat is not None))
        label = self.excerpt.bars[bar].label
        hint = f"In bar {label} notes begin on {listed}." if listed else f"Bar {label} has no notes."
        raise MarkError(f"'{mark.text}': no note begins on {address}.", hint=hint)

    def _put_slur(self, mark: OwnMark, first: MarkedNote, last: MarkedNote) -> None:
        notes = self.notes(voice_of(first.note))
        at = {place.note: index for index, place in enumerate(notes)}  # a moment changes with its note
        begin, end = at[first.note], at.get(last.note, -1)
        if mark.values and end <= begin:
            raise MarkError(
                f"'{mark.text}' joins no notes.", hint="A slur goes from a note to a later one of its voice."
            )
        gone = self._remove_slurs(notes, begin, end)
        if mark.values:
            self._write_slur(first.note, last.note)
        self._say(mark, first.bar, "the slur there" if gone and mark.values else "")

    def _remove_slurs(self, notes: list[MarkedNote], begin: int, end: int) -> bool:
        """Take out the slurs that join any of the notes from `begin` to `end`, or that cover the one note."""
        at = {place.note: index for index, place in enumerate(notes)}
        gone = False
        for start, stop in pair_spans(self.bars).pairs:
            if start.kind != "slur" or start.holder not in at or stop.holder not in at:
                continue
            a, b = at[start.holder], at[stop.holder]
            if (a < end and b > begin) or (begin == end and a <= begin <= b):
                for mark in (start, stop):
                    remove(mark.element)
                gone = True
        return gone

    def _write_slur(self, first: etree._Element, last: etree._Element) -> None:
        taken = {(element.get("number") or "1") for element in self.root.iter("slur")}
        number = next((str(n) for n in range(1, _MOST_SLURS) if str(n) not in taken), str(_MOST_SLURS))
        for note, kind in ((first, "start"), (last, "stop")):
            etree.SubElement(notations_of(note), "slur", type=kind, number=number)


def _replace(heads: list[etree._Element], mark: OwnMark) -> str:
    """Put a mark on the notes of a chord in place of what is there; gives what was there, for the report."""
    values = mark.values
    if values and len(values) not in (1, len(heads)):
        raise MarkError(
            f"'{mark.text}' has {len(values)} values for {len(heads)} notes.",
            hint="Give one, or one for each note from the lowest up.",
        )
    targets = heads if len(values) == len(heads) or not values else heads[-1:]
    was: list[str] = []
    for position, note in enumerate(targets):
        for element in [
            e for tag in ELEMENTS[mark.kind] for e in note.iterfind(f"notations/technical/{tag}")
        ]:
            was.append((element.text or "").strip() or str(element.tag).replace("-", " "))
            remove(element)
        if values and values[position] != NONE:
            technical_of(note).append(_element(mark.kind, values[position]))
    return " ".join(was)


def _element(kind: Kind, value: str) -> etree._Element:
    if kind == "bow":
        return etree.Element(f"{value}-bow")
    if kind == "finger" and value == "T":
        return etree.Element("thumb-position")
    element = etree.Element("fingering" if kind == "finger" else kind)
    element.text = value
    return element
