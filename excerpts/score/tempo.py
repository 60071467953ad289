"""The tempo in force at a bar, also when only another part has it, and writing it into a cut."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final

from lxml import etree

from excerpts.excerpt import Tempo
from excerpts.musicxml.format import NOTE_TYPES, SINGLE_NOTES, dotted, number_in, unplaced
from excerpts.musicxml.metre import metre_of
from excerpts.musicxml.playing_words import FIRST_TEMPO, TEMPO_HEADING, names_tempo
from excerpts.musicxml.timeline import COUNTED, plain, put_later
from excerpts.score.attributes import attributes_at_start
from excerpts.score.bars import Bars
from excerpts.score.playing import ends_movement
from excerpts.score.slice import Slice

_NUMBER: Final = re.compile(r"\d{1,6}(?:\.\d{1,6})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class TempoMark:
    """A tempo mark of a score.

    Attributes:
        part: Index of its part, from 0.
        bar: Index of its measure, from 0.
        onset: Quarter notes from the start of that measure.
        holder: The `<direction>` that holds it, or a `<sound>` that stands in the bar by itself.
    """

    part: int
    bar: int
    onset: Fraction
    holder: etree._Element

    def restated(self, without: frozenset[str] = frozenset()) -> etree._Element | None:
        """A copy with nothing but the tempo in it.

        Args:
            without: Texts that need not be said again because they stand there already.

        Returns:
            A `<direction>` with its heading and metronome mark, or a `<sound>` where nothing was printed;
            None where all is said already.
        """
        direction = etree.Element("direction", placement="above")
        metronomes = list(self.holder.iter("metronome"))
        for kind in self.holder.findall("direction-type"):
            if kind.find("metronome") is not None or _is_heading(kind, bool(metronomes), without):
                direction.append(unplaced(kind))
        sound = self._sound()
        if not len(direction):
            return sound
        if sound is not None:
            direction.append(sound)
        return direction

    def _sound(self) -> etree._Element | None:
        for sound in [self.holder] if self.holder.tag == "sound" else self.holder.findall("sound"):
            if number_in(sound.get("tempo")) is not None:
                return etree.Element("sound", tempo=str(sound.get("tempo")))
        return None

    def tempo(self, time: etree._Element | None) -> Tempo | None:
        """The number and beat unit; from the sounding tempo, in beats of the metre, where none is printed."""
        for metronome in self.holder.iter("metronome"):
            printed = _printed(metronome)
            if printed is not None:
                return printed
        sound = self._sound()
        quarters = number_in(sound.get("tempo")) if sound is not None else None
        if quarters is None or quarters <= 0:
            return None
        unit = metre_of(time).beat
        return Tempo(quarters / unit, unit)

    @property
    def ratio(self) -> tuple[Fraction, Fraction] | None:
        """Lengths in quarter notes that are to be equal, old and new, in a change of beat ("quarter = half")."""
        for metronome in self.holder.iter("metronome"):
            units = _units(metronome)
            if len(units) == 2 and metronome.find("per-minute") is None:
                return units[0], units[1]
        return None

    @property
    def calls_back_first(self) -> bool:
        """Whether it says "Tempo I"."""
        return any(FIRST_TEMPO.match(text) for text in _texts(self.holder))

    @property
    def has_heading(self) -> bool:
        """Whether words name the tempo."""
        return any(TEMPO_HEADING.match(text) for text in _texts(self.holder))


def metronome_mark(tempo: Tempo) -> etree._Element:
    """A `<direction>` with a metronome mark that was worked out."""
    direction = etree.Element("direction", placement="above")
    metronome = etree.SubElement(etree.SubElement(direction, "direction-type"), "metronome")
    if tempo.unit in SINGLE_NOTES:
        name, dots = SINGLE_NOTES[tempo.unit]
        etree.SubElement(metronome, "beat-unit").text = name
        for _ in range(dots):
            etree.SubElement(metronome, "beat-unit-dot")
    etree.SubElement(metronome, "per-minute").text = f"{float(tempo.number):.4g}"
    etree.SubElement(direction, "sound", tempo=plain(tempo.quarters_per_minute))
    return direction


def _texts(holder: etree._Element) -> list[str]:
    return ["".join(words.itertext()).strip() for words in holder.iterfind("direction-type/words")]


def _units(metronome: etree._Element) -> list[Fraction]:
    """The note values of a metronome mark in order, in quarter notes; empty where one is not a plain value."""
    units: list[tuple[Fraction, int]] = []
    for child in metronome:
        if child.tag == "beat-unit":
            unit = NOTE_TYPES.get((child.text or "").strip())
            if unit is None:
                return []
            units.append((unit, 0))
        elif child.tag == "beat-unit-dot" and units:
            units[-1] = (units[-1][0], units[-1][1] + 1)
    return [dotted(unit, dots) for unit, dots in units]


def _is_heading(kind: etree._Element, beside_metronome: bool, without: frozenset[str]) -> bool:
    """Words that name a tempo ("Allegro"), not a change towards one ("rit."), by their capital letter."""
    words = ["".join(element.itertext()).strip() for element in kind.findall("words")]
    if not words or len(words) != len(kind) or all(word in without or not word for word in words):
        return False
    first = next(word for word in words if word)
    return first[0].isupper() or (beside_metronome and not first[0].isalpha())


def _printed(metronome: etree._Element) -> Tempo | None:
    unit = NOTE_TYPES.get((metronome.findtext("beat-unit") or "").strip())
    number = _NUMBER.search(metronome.findtext("per-minute") or "")
    if unit is None or number is None or Fraction(number.group()) <= 0:
        return None
    return Tempo(Fraction(number.group()), dotted(unit, len(metronome.findall("beat-unit-dot"))))


def tempo_marks(parts: list[Bars], last: int) -> list[TempoMark]:
    """The tempo marks of all parts up to measure `last` (index from 0), in order of time, then of part.

    Numbers, changes of beat, and headings that name a tempo without a number.
    """
    marks = [
        TempoMark(part, bar, _onset(bars, bar, holder), holder)
        for part, bars in enumerate(parts)
        for bar, holder in bars.once(_holders)
        if bar <= last
    ]
    return sorted(marks, key=lambda mark: (mark.bar, mark.onset, mark.part))


def _holders(bars: Bars) -> list[tuple[int, etree._Element]]:
    """The index of the bar, and what holds a tempo mark in it, in the order of the file."""
    bars_of: dict[etree._Element, int] = {}
    for bar, holder, element in bars.every("sound", "metronome", "words"):
        if element.tag == "sound" and number_in(element.get("tempo")) is None:
            continue
        if element.tag != "words" or names_tempo(element):
            bars_of.setdefault(holder, bar)
    return [(bar, holder) for holder, bar in bars_of.items()]


def _onset(bars: Bars, bar: int, holder: etree._Element) -> Fraction:
    earlier = holder.itersiblings(*COUNTED, preceding=True)
    if holder.find("offset") is None and next(earlier, None) is None:
        return Fraction(0)
    return next(moment.onset for moment in bars.time(bar).moments if moment.element is holder)


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
        """Whether a part itself has everything that is to be written here."""
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
        and piece.copies[m.element].getparent() is measure
    ]
    at = fitting[-1] if fitting else None
    for moment in fitting:
        if moment.cursor == onset:
            at = moment
            break
    late = onset - at.cursor if at is not None else onset
    if late > 0:
        put_later(element, late * (at.divisions if at is not None else time.divisions))
    if at is None:
        measure.append(element)
    else:
        target = piece.copies[at.element]
        measure.insert(measure.index(target), element)
