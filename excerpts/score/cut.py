"""Cutting: from bars of a part to a self-contained excerpt with a report."""

from __future__ import annotations

from copy import deepcopy
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import BarRef, Box, Excerpt, Origin, Position, Tempo
from excerpts.musicxml import ATTRIBUTES_ORDER, insert_in_order, serialise
from excerpts.score.address import Span
from excerpts.score.bars import Bars
from excerpts.score.beams import mend_beams
from excerpts.score.bowing import show_first_stroke
from excerpts.score.edges import mend_spans
from excerpts.score.head import document, mend_instruments
from excerpts.score.metre import metre_of
from excerpts.score.slice import Slice, cut_slice, remove
from excerpts.score.spans import pair_spans
from excerpts.score.state import restated
from excerpts.score.tempo import TempoMark, tempo_marks
from excerpts.score.ties import mend_ties

_JUMPS: Final = ("dacapo", "dalsegno", "segno", "coda", "tocoda", "fine", "forward-repeat")
_PRINT_KEPT: Final = ("measure-numbering", "part-name-display", "part-abbreviation-display")


def cut(
    root: etree._Element, parts: list[Bars], part: int, span: Span, origin: Origin, context: int = 1
) -> Excerpt:
    """Cut a span out of a part.

    Args:
        root: The whole `<score-partwise>`; it is not changed.
        parts: The bars of all its parts.
        part: Index of the part to cut from, from 0.
        span: The resolved address: the box.
        origin: Where the excerpt comes from.
        context: How many measures to show before and after; fewer at the ends of the part.

    Returns:
        The excerpt, with its report of what was not simply copied.
    """
    bars = parts[part]
    first = max(0, span.first - context)
    last = min(len(bars) - 1, span.last + context)
    piece = cut_slice(bars, first, last)
    pairing = pair_spans(bars)
    mend_spans(piece, pairing)
    mend_ties(piece)
    mend_beams(piece)
    show_first_stroke(piece, span, pairing)
    _mend_endings(piece)
    _tidy(piece)
    _restate(piece)
    tempo = _restate_tempo(piece, root, parts, part)
    score, body = document(root, _score_part(root, origin.part_id, part))
    body.extend(piece.measures)
    for done in mend_instruments(score):
        piece.note_down("repaired", "instrument", None, done)
    _warn(piece)
    return Excerpt(
        xml=serialise(score),
        bars=_bar_refs(piece),
        boxes=(Box(Position(span.first - first, span.start), Position(span.last - first, span.end)),),
        open_ends=tuple(piece.open_ends),
        tempo=tempo,
        origin=origin,
        report=tuple(piece.report),
    )


def _score_part(root: etree._Element, part_id: str, index: int) -> etree._Element | None:
    listed = root.findall("part-list/score-part")
    for candidate in listed:
        if candidate.get("id") == part_id:
            return candidate
    return listed[index] if index < len(listed) else None


def _bar_refs(piece: Slice) -> tuple[BarRef, ...]:
    refs: list[BarRef] = []
    start = Fraction(0)
    for k, time in enumerate(piece.times):
        index = piece.first + k
        length = time.length or piece.bars.metre(index).length
        refs.append(BarRef(index + 1, piece.bars.labels[index], start, length))
        start += length
    return tuple(refs)


def _restate(piece: Slice) -> None:
    """Put what is in force into the first bar, as far as the bar does not set it itself."""
    measure, time = piece.measures[0], piece.times[0]
    at_start = [m.element for m in time.moments if m.element.tag == "attributes" and m.onset == 0]
    new, names = restated(piece.state, at_start)
    head = next((child for child in measure if child.tag != "print"), None)
    if head is not None and head.tag == "attributes":
        for child in new:
            insert_in_order(head, deepcopy(child), ATTRIBUTES_ORDER)
    else:
        measure.insert(0 if head is None else measure.index(head), new)
    for name in names:
        piece.note_down("restated", name, piece.first)
    _clamp_rests(piece)


def _clamp_rests(piece: Slice) -> None:
    """A rest of several bars, printed as one, must not run past the end of the cut."""
    for k, measure in enumerate(piece.measures):
        for count in measure.iterfind("attributes/measure-style/multiple-rest"):
            left = len(piece.measures) - k
            if (count.text or "").strip().isdigit() and int(count.text or "0") > left:
                piece.note_down(
                    "closed", "rest of several bars", piece.first + k, f"{count.text} bars in the source"
                )
                count.text = str(left)


def _restate_tempo(piece: Slice, root: etree._Element, parts: list[Bars], part: int) -> Tempo | None:
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
    state = piece.state
    for moment in piece.times[0].moments:
        if moment.element.tag == "attributes" and moment.onset == 0:
            for time in moment.element.iterfind("time"):
                return time
    return state.time


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
        offset.text = f"{float(late * divisions):.10g}"
        element.insert(len(element.findall("direction-type")), offset)
    if at is None:
        measure.append(element)
    else:
        target = piece.twins[at.element]
        measure.insert(measure.index(target), element)


def _mend_endings(piece: Slice) -> None:
    """Complete the brackets of first and second endings that the cut halves."""
    open_number: etree._Element | None = None
    for index, measure in enumerate(piece.bars.measures[: piece.last + 1]):
        for ending in measure.iterfind("barline/ending"):
            if ending.get("type") == "start":
                open_number = ending
            else:
                if open_number is None and piece.holds(index):
                    remove(piece.twins[ending])
                    piece.note_down("dropped", "ending", index, "it has no beginning in the source")
                open_number = None
        if index == piece.first - 1 and open_number is not None:
            _add_ending(piece.measures[0], open_number, "left", "start")
            piece.note_down("restated", "ending", piece.first, f"number {open_number.get('number')}")
    if open_number is not None:
        _add_ending(piece.measures[-1], open_number, "right", "discontinue")
        piece.note_down("closed", "ending", piece.last, f"number {open_number.get('number')}")


def _add_ending(measure: etree._Element, like: etree._Element, location: str, kind: str) -> None:
    barline = next(
        (b for b in measure.findall("barline") if (b.get("location") or "right") == location), None
    )
    if barline is None:
        barline = etree.Element("barline", location=location)
        if location == "left":
            measure.insert(1 if len(measure) and measure[0].tag == "print" else 0, barline)
        else:
            measure.append(barline)
    ending = etree.Element("ending", number=like.get("number") or "1", type=kind)
    if kind == "start" and like.text:
        ending.text = like.text
    repeat = barline.find("repeat")
    barline.insert(len(barline) if repeat is None else barline.index(repeat), ending)


def _tidy(piece: Slice) -> None:
    """Take out what describes the old page or points out of the cut."""
    for k, measure in enumerate(piece.measures):
        measure.attrib.pop("width", None)
        for printed in measure.findall("print"):
            kept = [child for child in printed if child.tag in _PRINT_KEPT]
            printed.attrib.clear()
            for child in [c for c in printed if c not in kept]:
                printed.remove(child)
            if not kept:
                measure.remove(printed)
        for link in measure.findall("link"):
            measure.remove(link)
        _drop_jumps(piece, measure, piece.first + k)
        for picture in list(measure.iter("image")):
            remove(picture)
            piece.note_down("dropped", "picture", piece.first + k, "it is a file outside the score")


def _drop_jumps(piece: Slice, measure: etree._Element, index: int) -> None:
    """A jump in playback leads out of the cut; the sign that is printed stays."""
    for sound in list(measure.iter("sound")):
        jumps = [name for name in _JUMPS if name in sound.attrib]
        for name in jumps:
            del sound.attrib[name]
        if jumps:
            piece.note_down("dropped", "jump in playback", index, "the sign stays")
        if not sound.attrib and not len(sound):
            parent = sound.getparent()
            if parent is not None:
                parent.remove(sound)


def _warn(piece: Slice) -> None:
    """Name the bars whose notes do not add up; they are cut as they are."""
    for k, time in enumerate(piece.times):
        index = piece.first + k
        for fault in dict.fromkeys(time.faults):
            piece.note_down("warning", "bar", index, f"the source has {fault}")
        metre = metre_of(_time_in(piece, index))
        if metre.length and time.length > metre.length:
            said = f"{time.length} quarter notes where {metre.text} has {metre.length}"
            piece.note_down("warning", "bar too long", index, said)


def _time_in(piece: Slice, index: int) -> etree._Element | None:
    latest = piece.state.time
    for k in range(index - piece.first + 1):
        for attributes in piece.bars.measures[piece.first + k].iterfind("attributes"):
            for time in attributes.iterfind("time"):
                latest = time
    return latest
