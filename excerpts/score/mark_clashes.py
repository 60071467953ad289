"""Marks of the teacher's that cannot all be meant: two fingers on one note, a bow sign in the middle of a bow.

Rules of playing, common practice, no source: a slur is one bow; a note has one finger, one string and one bow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from lxml import etree

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import Instrument
from excerpts.musicxml.pitch import midi_of
from excerpts.score.address import Resolver
from excerpts.score.marked_note import MarkedNote
from excerpts.score.marking_syntax import NONE, OwnMark, parse_mark
from excerpts.score.pairing import pair_spans
from excerpts.score.slice import voice_of
from excerpts.score.teacher_markings import MarkWriter, with_marks


@dataclass(frozen=True, slots=True)
class Clash:
    """A mark that does not go with the others, with the music or with the instrument.

    Attributes:
        place: Its place among the marks, from 0.
        message: What was found and what would be right.
        certain: It cannot be meant; else it is worth a look.
    """

    place: int
    message: str
    certain: bool = True


@dataclass(frozen=True, slots=True)
class _Found:
    """A mark with its notes: first and last by their places among those of the voice."""

    place: int
    mark: OwnMark
    voice: str
    first: int
    last: int
    heads: tuple[etree._Element, ...]

    @property
    def slurs(self) -> bool:
        return self.mark.kind == "slur" and bool(self.mark.values)

    def holds(self, other: _Found) -> bool:
        """Whether another mark's note is under this slur, behind its first note."""
        return self.voice == other.voice and self.first < other.first <= self.last


def mark_clashes(
    excerpt: Excerpt, marks: Sequence[str], resolver: Resolver | None, player: Instrument
) -> Iterator[Clash]:
    """What cannot be meant in a list of marks; marks that cannot be put in at all are passed over.

    The excerpt is the music without them, the resolver is as `with_marks` takes it.
    """
    placed = _found(excerpt, marks, resolver)
    for one, other in combinations(placed, 2):
        if message := _between(one, other):
            yield Clash(other.place, message)
    for one in placed:
        yield from _alone(one, player)
    in_slurs = {other.place for one in placed if one.slurs for other in placed if one.holds(other)}
    bows = [marks[one.place] for one in placed if one.mark.kind == "bow" and one.mark.values]
    if bows:
        yield from _under_printed_slurs(excerpt, marks, placed, resolver, in_slurs)


def _found(excerpt: Excerpt, marks: Sequence[str], resolver: Resolver | None) -> list[_Found]:
    writer = MarkWriter(excerpt, resolver)
    placed: list[_Found] = []
    for place, text in enumerate(marks):
        try:
            mark = parse_mark(text)
            notes = writer.find(mark)
        except InputError:
            continue
        placed.append(_of(writer, place, mark, notes))
    return placed


def _of(writer: MarkWriter, place: int, mark: OwnMark, notes: Sequence[MarkedNote]) -> _Found:
    voice = voice_of(notes[0].note)
    at = _places(writer, voice)
    ends = [at.get(one.note, -1) for one in (notes[0], notes[-1])]
    return _Found(place, mark, voice, ends[0], ends[1], tuple(notes[0].heads))


def _places(writer: MarkWriter, voice: str) -> dict[etree._Element, int]:
    """The notes of a voice with their places among them."""
    return {one.note: place for place, one in enumerate(writer.notes(voice))}


def _between(one: _Found, other: _Found) -> str:
    """Why two marks contradict each other; empty where they do not."""
    if not (one.mark.values and other.mark.values) or one.voice != other.voice:
        return ""
    if one.slurs and other.slurs:
        same = (one.first, one.last) == (other.first, other.last)
        if not same and one.first < other.last and other.first < one.last:
            return (
                f"'{other.mark.text}' and '{one.mark.text}' overlap: a note has one bow. Keep one of the two."
            )
        return ""
    if one.slurs or other.slurs:
        slur, bow = (one, other) if one.slurs else (other, one)
        if bow.mark.kind == "bow" and slur.holds(bow):
            return (
                f"'{bow.mark.text}' is in the middle of the bow of '{slur.mark.text}'. Put it on the first note of "
                "the slur, or end the slur before it."
            )
        return ""
    same = one.mark.kind == other.mark.kind and one.first == other.first >= 0
    if same and one.mark.values != other.mark.values:
        return f"'{other.mark.text}' contradicts '{one.mark.text}'. Keep one of the two."
    return ""


def _alone(one: _Found, player: Instrument) -> Iterator[Clash]:
    """What the instrument does not allow."""
    mark = one.mark
    if mark.kind == "finger" and "T" in mark.values and not player.hand.thumb:
        yield Clash(
            one.place,
            f"'{mark.text}' is for the thumb, which the {player.name} does not use.",
            certain=False,
        )
    if mark.kind != "string" or not mark.values:
        return
    strings = len(player.strings)
    heads = one.heads if len(one.heads) == len(mark.values) else one.heads[-1:]
    for value, head in zip(mark.values, heads, strict=False):
        number = int(value) if value != NONE else 0
        if number > strings + player.extra_string:
            yield Clash(
                one.place, f"'{mark.text}': the {player.name} has {strings} strings; I is the highest."
            )
            return
        height = midi_of(head)
        if 0 < number <= strings and height is not None and height < player.strings[-number].midi:
            open_string = player.strings[-number]
            message = f"'{mark.text}': the note is lower than that string, which is {open_string} when open."
            yield Clash(one.place, message, certain=False)


def _under_printed_slurs(
    excerpt: Excerpt,
    marks: Sequence[str],
    placed: Sequence[_Found],
    resolver: Resolver | None,
    in_slurs: set[int],
) -> Iterator[Clash]:
    """Bow signs behind the first note of a slur that the music has and the marks leave there."""
    good = [marks[one.place] for one in placed]
    try:
        writer = MarkWriter(with_marks(excerpt, good, resolver), resolver)
    except InputError:
        return  # a mark that does not fit its note, which is told
    slurs = [(start, stop) for start, stop in pair_spans(writer.bars).pairs if start.kind == "slur"]
    for one in placed:
        if one.mark.kind != "bow" or not one.mark.values or one.place in in_slurs:
            continue
        at = _places(writer, one.voice)
        under = (
            at[start.holder] < one.first <= at[stop.holder]
            for start, stop in slurs
            if {start.holder, stop.holder} <= at.keys()
        )
        if any(under):
            yield Clash(
                one.place,
                f"'{one.mark.text}' is in the middle of a slur of the score, which is one bow. "
                f'Where the slur is not meant, take it away ("{one.mark.beats[0]} no slur").',
                certain=False,
            )
