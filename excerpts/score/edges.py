"""What crosses an edge of the cut: closed as a copyist would, or left open for the engraver to draw.

A slur, bracket of a tuplet or line that still covers two notes inside is begun again at the first of them and
ended at the last. A slur that covers a single note, and every tie, is taken out of the file and named in
`open_ends`; the wavy line of a trill stands over its single note. A hairpin, octave sign, pedal mark or line
between the staves is begun again at the first beat and ended at the last barline, unless it has no length
inside. Nothing in the file hangs (common practice of copyists, no source).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.excerpt import OpenEnd
from excerpts.musicxml.format import NOTE_ORDER, insert_in_order, unplaced
from excerpts.musicxml.pitch import name_of_pitch
from excerpts.musicxml.playing_words import states_in
from excerpts.musicxml.timeline import Moment, put_later
from excerpts.score.pairing import DIRECTION_SPANS, Pairing, SpanEnd
from excerpts.score.slice import Slice, notations_of, remove, staff_of, voice_of

_BEGUN_AGAIN: Final = ("slur", "tuplet", "wavy-line", "extend")
_Notes = list[tuple[int, Moment]]


def mend_spans(cut: Slice, pairing: Pairing) -> None:
    """Close, open or drop every span that does not have both ends in the slice."""
    gone: set[etree._Element] = set()
    for start, stop in pairing.pairs:
        if stop.bar < cut.first or start.bar > cut.last:
            continue
        if stop.is_middle and cut.holds(stop.bar):
            cut.copies[stop.element].set("type", "stop")
            cut.note_down("repaired", start.kind, stop.bar, "it has no end in the source; ended here")
        if not (cut.holds(start.bar) and cut.holds(stop.bar)) and not _mend(cut, start, stop):
            gone.add(start.element)
    for middle, start in pairing.middles:
        if start.element in gone:
            _take_out(cut, middle)
    for end in pairing.lone:
        if cut.holds(end.bar):
            _mend_lone(cut, end)


def _mend(cut: Slice, start: SpanEnd, stop: SpanEnd) -> bool:
    """Mend a span that crosses an edge; tells whether it is still there."""
    if start.kind in DIRECTION_SPANS:
        return _mend_direction(cut, start, stop)
    if start.kind in _BEGUN_AGAIN:
        return _mend_notation(cut, start, stop)
    for end in (start, stop):
        if cut.holds(end.bar):
            _drop(cut, end, "its other end is outside")
    return False


def _take_out(cut: Slice, end: SpanEnd) -> None:
    if cut.holds(end.bar):
        remove(cut.copies[end.element])


def _drop(cut: Slice, end: SpanEnd, why: str) -> None:
    _take_out(cut, end)
    cut.note_down("dropped", end.kind, end.bar, why)


def _mend_lone(cut: Slice, end: SpanEnd) -> None:
    if end.kind == "wavy-line" and end.element.get("type") == "start":
        _put_on(cut.copies[end.holder], end, "stop")
        cut.note_down("repaired", end.kind, end.bar, "it has no end in the source; over its note only")
    else:
        _drop(cut, end, "it has no other end in the source")


def _mend_notation(cut: Slice, start: SpanEnd, stop: SpanEnd) -> bool:
    """Begin and end a span on the notes that it covers inside; tells whether it is still there."""
    from_before, goes_on = not cut.holds(start.bar), not cut.holds(stop.bar)
    covered = _covered(cut, start, stop)
    index = covered[0][0] if from_before and covered else covered[-1][0] if covered else cut.first
    if len(covered) < (1 if start.kind == "wavy-line" else 2):
        _take_out(cut, start)
        _take_out(cut, stop)
        if start.kind == "slur" and covered:
            _leave_open(cut, covered[0], start, ("start",) * from_before + ("end",) * goes_on)
        else:
            cut.note_down("dropped", start.kind, index, "the cut has only one end of it")
        return False
    if from_before:
        _put_on(cut.copies[covered[0][1].element], start, "start")
    if goes_on:
        _put_on(cut.copies[covered[-1][1].element], stop, "stop")
    way = "it came in from before" if from_before else "it goes on after"
    whole = from_before and goes_on
    cut.note_down("closed", start.kind, index, "it covers the whole cut" if whole else way)
    return True


def _covered(cut: Slice, start: SpanEnd, stop: SpanEnd) -> _Notes:
    """The notes inside that lie under a span, those of its ends included; rests count under a tuplet."""
    from_before, goes_on = not cut.holds(start.bar), not cut.holds(stop.bar)
    if from_before and goes_on and start.voice != stop.voice:
        return []
    inside = stop if from_before else start
    notes = cut.voice_notes(inside.voice, inside.staff, rests=start.kind == "tuplet")
    if from_before and goes_on:
        return notes
    at = _place_of(notes, cut, inside)
    return [] if at is None else notes[: at + 1] if from_before else notes[at:]


def _place_of(notes: _Notes, cut: Slice, end: SpanEnd) -> int | None:
    """Index of the note (the first of its chord) that an end stands on."""
    head = end.holder
    while (
        head.find("chord") is not None
        and (before := next(head.itersiblings("note", preceding=True), None)) is not None
    ):
        head = before
    return next((place for place, (_, moment) in enumerate(notes) if moment.element is head), None)


def _onset(cut: Slice, end: SpanEnd) -> Fraction:
    time = cut.times[end.bar - cut.first]
    return next(moment.onset for moment in time.moments if moment.element is end.holder)


def _put_on(note: etree._Element, like: SpanEnd, kind: str) -> None:
    """Begin or end a span on a note, as the source begins or ends it elsewhere."""
    new = unplaced(like.element)
    if like.element.get("type") != kind:
        for name in [name for name in new.attrib if name != "number"]:
            del new.attrib[name]
        new[:] = []
    new.set("type", kind)
    beside = [mark for mark in note.iterfind(f"notations/ornaments/{like.kind}") if mark.get("type") != kind]
    if beside and kind == "start":
        beside[0].addprevious(new)  # over this one note: a start behind its stop would be the next trill
    elif beside:
        beside[-1].addnext(new)
    else:
        _place_for(note, like).append(new)


def _place_for(note: etree._Element, like: SpanEnd) -> etree._Element:
    """The element of a note that takes the end of a span."""
    if like.kind == "extend":
        return _lyric(note, like)
    notations = notations_of(note)
    if like.kind != "wavy-line":
        return notations
    ornaments = notations.find("ornaments")
    return ornaments if ornaments is not None else etree.SubElement(notations, "ornaments")


def _lyric(note: etree._Element, like: SpanEnd) -> etree._Element:
    """The syllable of a verse under a note, made with nothing in it where there is none."""
    for lyric in note.findall("lyric"):
        if (lyric.get("number") or "1") == like.number and lyric.find("extend") is None:
            return lyric
    source = like.element.getparent()
    attributes = {} if source is None else {k: v for k, v in source.attrib.items() if k in ("number", "name")}
    lyric = etree.Element("lyric", attributes)
    insert_in_order(note, lyric, NOTE_ORDER)
    return lyric


def _leave_open(cut: Slice, pair: tuple[int, Moment], start: SpanEnd, edges: tuple[str, ...]) -> None:
    index, moment = pair
    note = moment.element
    staff = staff_of(note)
    for edge in edges:
        cut.open_ends.append(
            OpenEnd(
                kind="slur",
                edge="start" if edge == "start" else "end",
                at=cut.position(index, moment),
                staff=int(staff) if staff.isdecimal() else 1,
                voice=voice_of(note) or "1",
                pitch=name_of_pitch(note),
                detail=start.element.get("placement") or "",
            )
        )
    cut.note_down("opened", "slur", index, "only one note of it is inside")


def _mend_direction(cut: Slice, start: SpanEnd, stop: SpanEnd) -> bool:
    """Begin a hairpin, octave sign or line again at the first beat, or end it at the last barline."""
    from_before, goes_on = not cut.holds(start.bar), not cut.holds(stop.bar)
    begins = (cut.first, Fraction(0)) if from_before else (start.bar, _onset(cut, start))
    ends = (cut.last, cut.times[-1].length) if goes_on else (stop.bar, _onset(cut, stop))
    if begins >= ends:
        where = "begins where the cut ends" if goes_on else "ends where the cut begins"
        _drop(cut, start if goes_on else stop, f"it {where}")
        return False
    if from_before:
        again, words = _alone(start), _words_beside(start)
        if words:
            kind = etree.Element("direction-type")
            etree.SubElement(kind, "words", {"font-style": "italic"}).text = f"({words})"
            again.insert(0, kind)
        _insert_first(cut.measures[0], again)
        came = f"it began before, with {words}" if words else "it began before"
        cut.note_down("restated", start.kind, cut.first, came)
    if goes_on:
        _insert_last(cut, _alone(stop))
        cut.note_down("closed", start.kind, cut.last, "it goes on after")
    return True


def _words_beside(start: SpanEnd) -> str:
    """What dashes go on with ("cresc.", "rit."), without brackets; "" for what is restated by itself."""
    if start.kind != "dashes":
        return ""
    holder: etree._Element | None = start.holder
    while holder is not None and holder.tag == "direction" and staff_of(holder) == start.staff:
        texts = [
            " ".join("".join(words.itertext()).split()) for words in holder.iterfind("direction-type/words")
        ]
        if any(texts):
            text = " ".join(filter(None, texts)).strip("()")
            return "" if states_in(text) else text
        holder = holder.getprevious()
    return ""


def _alone(end: SpanEnd) -> etree._Element:
    """A direction with nothing in it but this end of the span."""
    direction = etree.Element("direction")
    placement = end.holder.get("placement")
    if placement:
        direction.set("placement", placement)
    etree.SubElement(direction, "direction-type").append(unplaced(end.element))
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
    late = time.length - time.cursor
    if late > 0:
        put_later(direction, late * time.divisions)
    last = measure[-1] if len(measure) else None
    if last is not None and last.tag == "barline" and last.get("location", "right") == "right":
        measure.insert(len(measure) - 1, direction)
    else:
        measure.append(direction)
