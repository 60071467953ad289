"""What crosses an edge of the cut: closed as a copyist would, or left open for the engraver to draw.

A slur, hairpin, octave sign, bracket or line that still covers two notes inside is begun again at the first
note and ended at the last; one that covers a single note, and every tie, is taken out of the file and named
in `open_ends`. Nothing in the file hangs (common practice of copyists, no source).
"""

from __future__ import annotations

from copy import deepcopy
from fractions import Fraction

from lxml import etree

from excerpts.excerpt import OpenEnd
from excerpts.score.slice import Slice, notations_of, pitch_name, remove
from excerpts.score.spans import DIRECTION_SPANS, Pairing, SpanEnd
from excerpts.score.timeline import Moment, plain

_RESTARTED_ON_NOTES = ("slur", "tuplet", "wavy-line")
_IN_ORNAMENTS = ("wavy-line",)
_SAID = {"octave-shift": "octave sign", "wedge": "hairpin", "pedal": "pedal mark", "bracket": "bracket line"}


def mend_spans(cut: Slice, pairing: Pairing) -> None:
    """Close, open or drop every span that does not have both ends in the slice."""
    for start, stop in pairing.pairs:
        starts_in, stops_in = cut.holds(start.bar), cut.holds(stop.bar)
        covers = start.bar < cut.first and stop.bar > cut.last
        if starts_in and stops_in or not (starts_in or stops_in or covers):
            continue
        if start.kind in DIRECTION_SPANS:
            _mend_direction(cut, start, stop)
        elif start.kind in _RESTARTED_ON_NOTES:
            _mend_notation(cut, start, stop)
        else:
            _drop(cut, start if starts_in else stop, "its other end is outside")
    for end in pairing.lone:
        if cut.holds(end.bar):
            _drop(cut, end, "it has no other end in the source")


def _said(kind: str) -> str:
    return _SAID.get(kind, kind)


def _drop(cut: Slice, end: SpanEnd, why: str) -> None:
    remove(cut.twins[end.element])
    cut.note_down("dropped", _said(end.kind), end.bar, why)


def _mend_notation(cut: Slice, start: SpanEnd, stop: SpanEnd) -> None:
    notes = cut.voice_notes(start.voice, start.staff)
    from_before, goes_on = not cut.holds(start.bar), not cut.holds(stop.bar)
    covered = [pair for pair in notes if _within(pair, start, stop, cut)]
    inside = start if goes_on else stop
    enough = len(covered) > 1 and not (from_before and goes_on and start.voice != stop.voice)
    for end in (start, stop):
        if cut.holds(end.bar) and not enough:
            remove(cut.twins[end.element])
    if not enough:
        if start.kind == "slur" and covered:
            _leave_open(cut, covered[0], start, "start" if from_before else "end", inside)
        return
    if from_before:
        _put_on(cut, covered[0], start, "start")
    if goes_on:
        _put_on(cut, covered[-1], start, "stop")
    index = covered[0][0] if from_before else covered[-1][0]
    way = "it came in from before" if from_before else "it goes on after"
    cut.note_down(
        "closed", _said(start.kind), index, "it covers the whole cut" if from_before and goes_on else way
    )


def _within(pair: tuple[int, Moment], start: SpanEnd, stop: SpanEnd, cut: Slice) -> bool:
    """Whether a note lies under a span, the notes of both its ends included."""
    index, moment = pair
    if cut.holds(start.bar) and (index, moment.onset) < (start.bar, _onset(cut, start)):
        return False
    return not (cut.holds(stop.bar) and (index, moment.onset) > (stop.bar, _onset(cut, stop)))


def _onset(cut: Slice, end: SpanEnd) -> Fraction:
    time = cut.times[end.bar - cut.first]
    return next(moment.onset for moment in time.moments if moment.element is end.holder)


def _put_on(cut: Slice, pair: tuple[int, Moment], like: SpanEnd, kind: str) -> None:
    note = cut.twins[pair[1].element]
    new = etree.Element(like.kind)
    for name in ("number", "placement", "orientation", "line-type"):
        value = like.element.get(name)
        if value is not None and (kind == "start" or name == "number"):
            new.set(name, value)
    new.set("type", kind)
    if like.kind == "tuplet" and kind == "start":
        for name in ("bracket", "show-number", "show-type"):
            if like.element.get(name) is not None:
                new.set(name, str(like.element.get(name)))
    parent = notations_of(note)
    if like.kind in _IN_ORNAMENTS:
        ornaments = parent.find("ornaments")
        parent = ornaments if ornaments is not None else etree.SubElement(parent, "ornaments")
    parent.append(new)


def _leave_open(cut: Slice, pair: tuple[int, Moment], start: SpanEnd, edge: str, inside: SpanEnd) -> None:
    index, moment = pair
    note = moment.element
    cut.open_ends.append(
        OpenEnd(
            kind="slur",
            edge="start" if edge == "start" else "end",
            at=cut.position(index, moment),
            staff=_number(inside.staff),
            voice=inside.voice or "1",
            pitch=pitch_name(note),
            detail=start.element.get("placement") or "",
        )
    )
    cut.note_down("opened", "slur", index, "only one note of it is inside")


def _number(staff: str) -> int:
    return int(staff) if staff.isdecimal() else 1


def _mend_direction(cut: Slice, start: SpanEnd, stop: SpanEnd) -> None:
    """Begin a hairpin, octave sign or line again at the first beat, or end it at the last barline."""
    from_before, goes_on = not cut.holds(start.bar), not cut.holds(stop.bar)
    at_edge = cut.holds(stop.bar) and stop.bar == cut.first and _onset(cut, stop) == 0
    if from_before and at_edge:
        _drop(cut, stop, "it ends where the cut begins")
        return
    if from_before:
        _insert_first(cut.measures[0], _alone(start))
        cut.note_down("restated", _said(start.kind), cut.first, "it began before")
    if goes_on:
        _insert_last(cut, _alone(stop))
        cut.note_down("closed", _said(start.kind), cut.last, "it goes on after")


def _alone(end: SpanEnd) -> etree._Element:
    """A direction with nothing in it but this end of the span."""
    direction = etree.Element("direction")
    placement = end.holder.get("placement")
    if placement:
        direction.set("placement", placement)
    kept = deepcopy(end.element)
    for name in ("id", "default-x", "default-y", "relative-x", "relative-y"):
        kept.attrib.pop(name, None)
    kept.tail = None
    etree.SubElement(direction, "direction-type").append(kept)
    for tag in ("voice", "staff"):
        value = end.holder.findtext(tag)
        if value:
            etree.SubElement(direction, tag).text = value
    return direction


def _insert_first(measure: etree._Element, direction: etree._Element) -> None:
    """Insert before the first thing that takes time, behind attributes and print."""
    for index, child in enumerate(measure):
        if child.tag in ("note", "direction", "backup", "forward", "harmony", "figured-bass", "sound"):
            measure.insert(index, direction)
            return
    measure.append(direction)


def _insert_last(cut: Slice, direction: etree._Element) -> None:
    """Insert at the end of the last bar, in front of its barline.

    Where the last voice written is shorter than the bar, an `<offset>` says how much later the end is.
    """
    time, measure = cut.times[-1], cut.measures[-1]
    cursor = max((moment.cursor + moment.duration for moment in time.moments[-1:]), default=Fraction(0))
    late = time.length - cursor
    if late > 0:
        offset = etree.Element("offset")
        offset.text = plain(late * time.divisions)
        direction.insert(len(direction.findall("direction-type")), offset)
    barline = next((child for child in measure if child.get("location") == "right"), None)
    if barline is None:
        measure.append(direction)
    else:
        measure.insert(measure.index(barline), direction)
