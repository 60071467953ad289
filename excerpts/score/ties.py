"""Ties at the edges of a cut: both ends inside, or out of the file and drawn open.

A note whose tie came from before the cut has lost the accidental that stood before the barline; it gets it
back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from excerpts.excerpt import OpenEnd
from excerpts.musicxml.format import NOTE_ORDER, child_of_note, insert_in_order
from excerpts.musicxml.pitch import SIGNS, key_alterations, midi_of, name_of_pitch, pitch_of
from excerpts.musicxml.timeline import BarTime, Moment, walk
from excerpts.score.attributes import changes_in
from excerpts.score.slice import Slice, notations_of, remove, staff_of, voice_of


@dataclass(frozen=True, slots=True, eq=False)
class _Tied:
    """A note with an end of a tie.

    Attributes:
        index: Index of its measure in the part.
        moment: Its moment.
        time: When the tie's end is, in quarter notes.
        behind: The same for a start, or the barline behind where its voice stops short of it.
        at_barline: The tie's end is at the start (of a stop) or the end (of a start) of its bar.
    """

    index: int
    moment: Moment
    time: Fraction
    behind: Fraction
    at_barline: bool


def mend_ties(cut: Slice) -> None:
    """Keep the ties that have both notes inside; open or drop the others.

    The bars beside the cut are looked at too, for a tie that leads there is open and one that leads nowhere
    is not.
    """
    starts: list[_Tied] = []
    stops: list[_Tied] = []
    others: list[tuple[int, Moment, Fraction]] = []
    for index, time, begin in _bars_around(cut):
        for moment in time.moments:
            if moment.element.tag != "note":
                continue
            edges = _edges(moment)
            if "start" in edges:
                behind = begin + _barline_behind(time, moment)
                starts.append(_Tied(index, moment, begin + moment.end, behind, moment.end == time.length))
            if "stop" in edges:
                stops.append(_stop(index, moment, begin))
            else:
                others.append((index, moment, begin))
    partners = _pair(starts, stops)
    stops += _lead_on(cut, starts, others, partners)
    undrawn = not cut.bars.has("tied")
    for kind, ends in (("stop", stops), ("start", starts)):
        for end in ends:
            partner = partners.get(end)
            if not cut.holds(end.index):
                continue
            if partner is None or not cut.holds(partner.index):
                _untie(cut, end, kind, leads_out=partner is not None)
            else:
                _complete(cut, end, partner, kind, undrawn=undrawn)


def _bars_around(cut: Slice) -> Iterator[tuple[int, BarTime, Fraction]]:
    """The bars of the cut and one before and after: index, timing, and the time at which they begin."""
    begin, divisions = Fraction(0), cut.state.divisions
    if cut.first > 0:
        before = cut.bars.time(cut.first - 1)
        yield cut.first - 1, before, -before.length
    for k, time in enumerate(cut.times):
        yield cut.first + k, time, begin
        begin, divisions = begin + time.length, time.divisions
    if cut.last + 1 < len(cut.bars):
        yield cut.last + 1, walk(cut.bars.measures[cut.last + 1], divisions), begin


def _stop(index: int, moment: Moment, begin: Fraction) -> _Tied:
    """A note as the end of a tie, in a bar that begins at a time."""
    onset = begin + moment.onset
    return _Tied(index, moment, onset, onset, moment.onset == 0)


def _edges(moment: Moment) -> set[str | None]:
    """The types of the ends of ties on a note."""
    edges: set[str | None] = set()
    if "tie" in moment.children:
        edges.update(tie.get("type") for tie in moment.element.iterchildren("tie"))
    if "notations" in moment.children:
        for notations in moment.element.iterchildren("notations"):
            edges.update(tied.get("type") for tied in notations.iterchildren("tied"))
    return edges


def _pair(starts: list[_Tied], stops: list[_Tied]) -> dict[_Tied, _Tied]:
    """The partner of each end of a tie that has one.

    A tie joins a note to one of the same sounding pitch that begins where the first ends; the same voice is
    preferred where two do. A voice that stops short of a barline, in a bar that another makes too long, is
    tied over it all the same.
    """
    waiting: dict[tuple[Fraction, Fraction | None], list[_Tied]] = {}
    for start in starts:
        height = midi_of(start.moment.element)
        for time in {start.time, start.behind}:
            waiting.setdefault((time, height), []).append(start)
    partners: dict[_Tied, _Tied] = {}
    for stop in stops:
        note = stop.moment.element
        free = [
            start
            for start in waiting.get((stop.time, midi_of(note)), [])
            if start not in partners and start.moment.element is not note
        ]
        if free:
            voice = voice_of(note)
            start = next((s for s in free if voice_of(s.moment.element) == voice), free[0])
            partners[start], partners[stop] = stop, start
    return partners


def _lead_on(
    cut: Slice,
    starts: list[_Tied],
    others: list[tuple[int, Moment, Fraction]],
    partners: dict[_Tied, _Tied],
) -> list[_Tied]:
    """Ends of ties that the source does not write, for starts without one; gives them, and adds them as partners.

    Some programs write only where ties start: a note of the same voice and pitch that begins where the first
    ends is what it is tied to. Over a repeat or an ending it may be another.
    """
    lone = [start for start in starts if start not in partners and not _at_repeat(cut, start, "start")]
    if not lone:
        return []
    free: dict[tuple[Fraction, Fraction | None, str], list[_Tied]] = {}
    for index, moment, begin in others:
        if moment.duration > 0:
            other = _stop(index, moment, begin)
            key = other.time, midi_of(moment.element), moment.voice
            free.setdefault(key, []).append(other)
    added: list[_Tied] = []
    for start in lone:
        note = start.moment.element
        height, voice = midi_of(note), start.moment.voice
        ways = ((time, height, voice) for time in (start.time, start.behind))
        waiting = next((those for way in ways if (those := free.get(way))), None)
        if waiting and waiting[0].moment.element is not note:
            stop = waiting.pop(0)
            partners[start], partners[stop] = stop, start
            added.append(stop)
    return added


def _barline_behind(time: BarTime, start: Moment) -> Fraction:
    """The end of the bar where a note is the last of its voice in it, else the note's own end."""
    voice = start.voice
    if start.end < time.length and not any(
        moment.voice == voice and moment.end > start.end
        for moment in time.moments
        if moment.element.tag == "note"
    ):
        return time.length
    return start.end


def _complete(cut: Slice, end: _Tied, partner: _Tied, kind: str, *, undrawn: bool) -> None:
    """Draw both ends of a tie, and sound both, where the source does so at one of them only.

    Some programs write ties for the sound alone, in the whole of a file (`undrawn`): these are drawn too.
    """
    note, other = end.moment.element, partner.moment.element
    kinds = (kind, "start" if kind == "stop" else "stop")
    twin = cut.copies[note]
    for path, tag in (("tie", "tie"), ("notations/tied", "tied")):
        has, has_too = (
            any(mark.get("type") == k for mark in n.iterfind(path))
            for n, k in zip((note, other), kinds, strict=True)
        )
        draws = undrawn and tag == "tied"
        if has or not (has_too or draws):
            continue
        mark = etree.Element(tag, type=kind)
        if tag == "tie":
            insert_in_order(twin, mark, NOTE_ORDER)
        else:
            # A stop stands in front of a start: readers take a start in front of it for its own.
            notations = notations_of(twin)
            notations.insert(0 if kind == "stop" else len(notations.findall("tied")), mark)
        if not draws:
            cut.note_down(
                "repaired", "tie", end.index, f"{name_of_pitch(note)} had only one end of it written"
            )
        elif kind == "start":
            cut.note_down(
                "repaired", "tie", end.index, f"{name_of_pitch(note)} has it for the sound only; drawn"
            )


def _untie(cut: Slice, tied: _Tied, kind: str, *, leads_out: bool) -> None:
    source = tied.moment.element
    note = cut.copies[source]
    for tie in [tie for tie in note.findall("tie") if tie.get("type") == kind]:
        note.remove(tie)
    marks = [mark for mark in note.iterfind("notations/tied") if mark.get("type") == kind]
    detail = next((mark.get("placement") or mark.get("orientation") or "" for mark in marks), "")
    for mark in marks:
        remove(mark)
    elsewhere = leads_out or _at_repeat(cut, tied, kind)
    if kind == "stop" and tied.moment.onset == 0 and (elsewhere or tied.index == cut.first > 0):
        _restore_accidental(cut, tied.index, source, note)
    if not elsewhere:
        cut.note_down("dropped", "tie", tied.index, f"{name_of_pitch(source)} is not tied to anything")
        return
    staff = staff_of(source)
    cut.open_ends.append(
        OpenEnd(
            kind="tie",
            edge="start" if kind == "stop" else "end",
            at=cut.position(tied.index, tied.moment),
            staff=int(staff) if staff.isdecimal() else 1,
            voice=voice_of(source) or "1",
            pitch=name_of_pitch(source),
            detail={"over": "above", "under": "below"}.get(detail, detail),
        )
    )
    way = "from the bar before" if kind == "stop" else "into the bar after"
    cut.note_down("opened", "tie", tied.index, f"{name_of_pitch(source)} {way}")


def _at_repeat(cut: Slice, tied: _Tied, kind: str) -> bool:
    """Where a repeat or an ending begins or ends: the tie comes from, or leads, somewhere else in the score."""
    measure = cut.bars.measures[tied.index]
    wanted = {"start", "forward"} if kind == "stop" else {"stop", "discontinue", "backward"}
    return tied.at_barline and any(
        ending.get("type") in wanted or ending.get("direction") in wanted
        for barline in measure.iterfind("barline")
        for ending in barline.iterchildren("ending", "repeat")
    )


def _restore_accidental(cut: Slice, index: int, source: etree._Element, note: etree._Element) -> None:
    pitch = pitch_of(source)
    if pitch is None or note.find("accidental") is not None:
        return
    if pitch.alter == _in_key(cut, index, staff_of(source), pitch.step) or pitch.alter not in SIGNS:
        return
    child_of_note(note, "accidental").text = SIGNS[pitch.alter]
    cut.note_down("restated", "accidental", index, f"{pitch}, which stood before the barline")


def _in_key(cut: Slice, index: int, staff: str, step: str) -> Fraction:
    """Semitones that the key signature alters a letter by, in force at the start of a measure."""
    state = cut.bars.state(index)
    for moment in changes_in(cut.bars.measures[index], state.divisions):
        if moment.onset == 0:
            state.take(moment.element)
    key = state.keys.get(staff, state.keys.get(None))
    return Fraction(0) if key is None else key_alterations(key).get(step, Fraction(0))
