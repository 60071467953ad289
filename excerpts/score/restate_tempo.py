"""The tempo in force at the start of a cut, written into it: of this part, or of the one that has it."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.excerpt import Tempo
from excerpts.score.bars import Bars
from excerpts.score.restate import attributes_at_start
from excerpts.score.slice import Slice
from excerpts.score.tempo import TempoMark, tempo_marks
from excerpts.score.timeline import plain


def restate_tempo(piece: Slice, root: etree._Element, parts: list[Bars], part: int) -> Tempo | None:
    """Write the tempo in force at the start, and changes inside that only another part has."""
    marks = tempo_marks(root, parts, piece.last)
    before = [m for m in marks if (m.bar, m.onset) <= (piece.first, 0)]
    inside = [m for m in marks if (m.bar, m.onset) > (piece.first, 0)]
    own = {(m.bar, m.onset) for m in marks if m.part == part}
    seen: set[tuple[int, Fraction]] = set()
    for mark in inside:
        place = (mark.bar, mark.onset)
        if place not in own and place not in seen:
            seen.add(place)
            _insert_tempo(piece, mark.restated(), mark)
            piece.note_down("carried", "tempo", mark.bar, "only another part has it")
    if not before:
        return None
    latest = max((m.bar, m.onset) for m in before)
    among = [m for m in before if (m.bar, m.onset) == latest]
    mark = next((m for m in among if m.part == part), among[0])
    tempo = mark.tempo(_time_at(piece))
    if not (mark.part == part and mark.bar == piece.first):
        _insert_tempo(piece, mark.restated(_own_words(piece)), mark)
        detail = "" if mark.part == part else "from another part"
        piece.note_down("restated", "tempo", piece.first, detail)
    return tempo


def _own_words(piece: Slice) -> frozenset[str]:
    """Words that the first bar has at its start already."""
    return frozenset(
        "".join(words.itertext()).strip()
        for moment in piece.times[0].moments
        if moment.onset == 0 and moment.element.tag == "direction"
        for words in moment.element.iterfind("direction-type/words")
    )


def _time_at(piece: Slice) -> etree._Element | None:
    for attributes in attributes_at_start(piece):
        for time in attributes.iterfind("time"):
            return time
    return piece.state.time


def _insert_tempo(piece: Slice, element: etree._Element, mark: TempoMark) -> None:
    """Put a tempo mark where its time is in the bar, with an `<offset>` where no note begins there."""
    bar, onset = (mark.bar, mark.onset) if mark.bar >= piece.first else (piece.first, Fraction(0))
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
        divisions = piece.state.divisions if k == 0 else piece.times[k - 1].divisions
        offset.text = plain(late * divisions)
        element.insert(len(element.findall("direction-type")), offset)
    if at is None:
        measure.append(element)
    else:
        target = piece.twins[at.element]
        measure.insert(measure.index(target), element)
