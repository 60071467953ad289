"""The teacher's own fingers, bows, slurs and strings, put into a cut in place of what stands there.

How they are written down is told in `excerpts.score.marking_syntax`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt, ReportLine
from excerpts.musicxml.format import is_cue, serialise
from excerpts.musicxml.pitch import midi_of
from excerpts.musicxml.timeline import Moment
from excerpts.score.address import Resolver, beat_at
from excerpts.score.bars import Bars
from excerpts.score.marking_syntax import Kind, MarkError, OwnMark, parse_mark
from excerpts.score.pairing import pair_spans
from excerpts.score.slice import heads_of, notations_of, remove, technical_of, voice_of

_ELEMENTS: Final[dict[Kind, tuple[str, ...]]] = {
    "finger": ("fingering", "thumb-position", "open-string"),
    "bow": ("up-bow", "down-bow"),
    "string": ("string",),
}
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


@dataclass(frozen=True, slots=True)
class MarkedNote:
    """A note of the excerpt: index of its bar from 0, and its moment."""

    bar: int
    moment: Moment

    @property
    def note(self) -> etree._Element:
        """The note itself; the first written of a chord."""
        return self.moment.element


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

    def find(self, mark: OwnMark, *, outside: bool = False) -> list[MarkedNote]:
        """The notes of a mark: one, or first and last of a slur; none where it may be `outside` the excerpt, and is.

        Raises:
            MarkError: There is no note for it.
            AddressError: There is no such bar or beat.
        """
        places = [self._resolver.resolve(address) for address in mark.beats]
        points = [(place.first - self._first, place.start) for place in places]
        if not all(0 <= bar < len(self.bars) for bar, _ in points):
            if outside:
                return []
            shown = self.excerpt.bars
            raise MarkError(
                f"'{mark.text}' is not in this passage.",
                hint=f"It shows bars {shown[0].label} to {shown[-1].label}.",
            )
        return [self._note(mark, address, *point) for address, point in zip(mark.beats, points, strict=True)]

    def put(self, mark: OwnMark, *, outside: bool) -> None:
        """Put one mark in."""
        notes = self.find(mark, outside=outside)
        if not notes:
            return
        if mark.kind == "slur":
            self._put_slur(mark, notes[0], notes[-1])
        else:
            self._say(mark, notes[0].bar, _replace(self.heads(notes[0]), mark))

    def _say(self, mark: OwnMark, bar: int, was: str) -> None:
        written = mark.text.partition(" ")[2]
        detail = f"{written}, in place of {was}" if was else written
        self.report.append(ReportLine("carried", "teacher-mark", self.excerpt.bars[bar].label, detail))

    def notes(self, voice: str = "") -> list[MarkedNote]:
        """The notes of the excerpt in order of time: one of a chord, no rests, grace notes and cues."""
        marked: list[MarkedNote] = []
        for index in range(len(self.bars)):
            moments = self.bars.time(index).moments
            here = [m for m in moments if m.element.tag == "note" and m.duration and _leads(m.element)]
            marked += [MarkedNote(index, m) for m in sorted(here, key=lambda m: m.onset)]
        return [place for place in marked if not voice or voice_of(place.note) == voice]

    def _note(self, mark: OwnMark, address: str, bar: int, onset: Fraction) -> MarkedNote:
        """The note that begins at a point."""
        here = [place for place in self.notes(mark.voice) if place.bar == bar]
        for place in here:
            if place.moment.onset == onset:
                return place
        run = self.bars.run_at(bar)
        beats = [beat_at(self.bars, run, bar, place.moment.onset) for place in here]
        listed = ", ".join(dict.fromkeys(f"{float(beat):.4g}" for beat in beats if beat is not None))
        label = self.excerpt.bars[bar].label
        hint = f"In bar {label} notes begin on {listed}." if listed else f"Bar {label} has no notes."
        raise MarkError(f"'{mark.text}': no note begins on {address}.", hint=hint)

    def heads(self, place: MarkedNote) -> list[etree._Element]:
        """The notes of a chord from the lowest up; of a single note itself."""
        return sorted(heads_of(place.note), key=lambda note: midi_of(note) or Fraction(0))

    def _put_slur(self, mark: OwnMark, first: MarkedNote, last: MarkedNote) -> None:
        notes = self.notes(voice_of(first.note))
        begin, end = notes.index(first), notes.index(last) if last in notes else -1
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


def _leads(note: etree._Element) -> bool:
    return all(note.find(tag) is None for tag in ("rest", "chord", "grace")) and not is_cue(note)


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
            e for tag in _ELEMENTS[mark.kind] for e in note.iterfind(f"notations/technical/{tag}")
        ]:
            was.append((element.text or "").strip() or str(element.tag).replace("-", " "))
            remove(element)
        if values:
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
