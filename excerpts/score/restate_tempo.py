"""The tempo in force at the start of a cut, written into it: of this part, or of the one that has it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from lxml import etree

from excerpts.excerpt import Tempo
from excerpts.musicxml.timeline import plain
from excerpts.score.bars import Bars
from excerpts.score.playing import ends_movement
from excerpts.score.restate_attributes import attributes_at_start
from excerpts.score.slice import Slice
from excerpts.score.tempo_in_force import TempoMark, metronome_mark, tempo_marks


@dataclass(frozen=True, slots=True)
class _Place:
    """The tempo marks of all parts at one point of time, and the tempo that holds from there.

    Attributes:
        marks: The marks, those of the part that is cut first.
        numbered: The mark among them that gives the number; None where none does.
        tempo: The tempo, None where nothing tells it.
    """

    marks: tuple[TempoMark, ...]
    numbered: TempoMark | None
    tempo: Tempo | None

    @property
    def at(self) -> tuple[int, Fraction]:
        """Index of the measure, and quarter notes from its start."""
        return self.marks[0].bar, self.marks[0].onset

    def is_told_by(self, part: int) -> bool:
        """Whether a part has all that there is to say here itself."""
        if self.numbered is not None:
            return self.numbered.part == part
        return any(mark.part == part for mark in self.marks)


def restate_tempo(piece: Slice, parts: list[Bars], part: int, *, alone: bool = True) -> Tempo | None:
    """Write the tempo in force at the start, and changes inside that only another part has.

    Args:
        piece: What was cut of the part.
        parts: The bars of all parts of the score.
        part: Index of the part.
        alone: Only this part is cut; else the others are there to tell their tempi themselves.

    Returns:
        The tempo at the start; None where nothing tells it.
    """
    marks = tempo_marks(parts, piece.last)
    places = _places(marks, part, _time_at(piece), piece.bars)
    begin = (piece.first, Fraction(0))
    for place in places:
        if alone and place.at > begin and not place.is_told_by(part):
            for element in _written(place, _own_words(piece, *place.at)):
                _insert_tempo(piece, element, place)
            piece.note_down("carried", "tempo", place.at[0], "only another part has it")
    before = [place for place in places if place.at <= begin]
    if not before:
        return None
    latest = before[-1]
    if not (latest.at[0] == piece.first and (latest.is_told_by(part) or not alone)):
        for element in _written(latest, _own_words(piece, *begin)):
            _insert_tempo(piece, element, latest)
        piece.note_down("restated", "tempo", piece.first, _source(latest, part))
    elif latest.numbered is None and latest.tempo is not None:
        # The sign that stands there counts from the tempo before it, which the cut does not have.
        _insert_tempo(piece, etree.Element("sound", tempo=plain(latest.tempo.quarters_per_minute)), latest)
        piece.note_down("restated", "tempo", piece.first, _source(latest, part))
    return latest.tempo


def _source(place: _Place, part: int) -> str:
    if place.tempo is None:
        return "without a number"
    if place.numbered is None:
        return "its number is worked out"
    return "" if place.is_told_by(part) else "from another part"


def _places(marks: list[TempoMark], part: int, time: etree._Element | None, bars: Bars) -> list[_Place]:
    """Gather the marks by time, and count the tempo on from each to the next."""
    places: list[_Place] = []
    for _, group in groupby(marks, key=lambda mark: (mark.bar, mark.onset)):
        here = sorted(group, key=lambda mark: mark.part != part)
        numbered = next((mark for mark in here if mark.tempo(time) is not None), None)
        tempo = numbered.tempo(time) if numbered is not None else _worked_out(here, places, bars)
        places.append(_Place(tuple(here), numbered, tempo))
    return places


def _worked_out(here: list[TempoMark], before: list[_Place], bars: Bars) -> Tempo | None:
    """The tempo after "quarter = half" or "Tempo I"; None after a heading that has no number."""
    for mark in here:
        if mark.ratio is not None and before and before[-1].tempo is not None:
            old, new = mark.ratio
            return Tempo(before[-1].tempo.quarters_per_minute / old, new)
        if mark.calls_back_first:
            ends = [i for i in range(min(mark.bar, len(bars))) if ends_movement(bars.measures[i])]
            movement = [place for place in before if not ends or place.at[0] > ends[-1]]
            return movement[0].tempo if movement else None
    return None


def _written(place: _Place, without: frozenset[str]) -> list[etree._Element]:
    """What a place says, as elements: the mark with the number, and a heading where that has none."""
    heading = next((mark for mark in place.marks if mark.has_heading), None)
    if place.numbered is not None:
        marks = [heading, place.numbered] if heading and not place.numbered.has_heading else [place.numbered]
    else:
        marks = [mark for mark in (heading,) if mark is not None] or [place.marks[0]]
    if place.numbered is None and place.tempo is not None:
        return [metronome_mark(place.tempo)]
    return [element for mark in marks if (element := mark.restated(without)) is not None]


def _own_words(piece: Slice, bar: int, onset: Fraction) -> frozenset[str]:
    """Words that the part has at a point of time already."""
    return frozenset(
        "".join(words.itertext()).strip()
        for moment in piece.times[bar - piece.first].moments
        if moment.onset == onset and moment.element.tag == "direction"
        for words in moment.element.iterfind("direction-type/words")
    )


def _time_at(piece: Slice) -> etree._Element | None:
    for attributes in attributes_at_start(piece):
        for time in attributes.iterfind("time"):
            return time
    return piece.state.time


def _insert_tempo(piece: Slice, element: etree._Element, place: _Place) -> None:
    """Put a tempo mark where its time is in the bar, with an `<offset>` where no note begins there."""
    bar, onset = max(place.at, (piece.first, Fraction(0)))
    k = bar - piece.first
    measure, time = piece.measures[k], piece.times[k]
    fitting = [
        m
        for m in time.moments
        if m.cursor <= onset
        and m.element.tag not in ("print", "attributes")
        and piece.twins[m.element].getparent() is measure
    ]
    at = fitting[-1] if fitting else None
    for moment in fitting:
        if moment.cursor == onset:
            at = moment
            break
    late = onset - at.cursor if at is not None else onset
    if late > 0:
        offset = etree.Element("offset")
        offset.text = plain(late * (at.divisions if at is not None else time.divisions))
        element.insert(len(element.findall("direction-type")), offset)
    if at is None:
        measure.append(element)
    else:
        target = piece.twins[at.element]
        measure.insert(measure.index(target), element)
