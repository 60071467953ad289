"""Ties at the edges of a cut: both ends inside, or out of the file and drawn open.

A note whose tie came from before the cut has lost the accidental that stood before the barline; it gets it
back.
"""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from excerpts.excerpt import OpenEnd
from excerpts.musicxml import NOTE_ORDER, STEP_SEMITONES, insert_in_order
from excerpts.score.slice import Slice, pitch_name, remove, sounding_height, staff_of, voice_of
from excerpts.score.timeline import Moment, number_in

_ACCIDENTALS = {
    Fraction(-2): "flat-flat",
    Fraction(-1): "flat",
    Fraction(0): "natural",
    Fraction(1): "sharp",
    Fraction(2): "double-sharp",
}
_SHARPS = "FCGDAEB"

_Tied = tuple[int, Moment, Fraction]
"""Index of the measure, the moment of the note, and its onset in quarter notes from the start of the cut."""


def mend_ties(cut: Slice) -> None:
    """Keep the ties that have both notes inside; open or drop the others."""
    starts: list[_Tied] = []
    stops: list[_Tied] = []
    begin = Fraction(0)
    for k, time in enumerate(cut.times):
        for moment in time.moments:
            if moment.element.tag == "note":
                here = (cut.first + k, moment, begin + moment.onset)
                if _has(moment.element, "start"):
                    starts.append(here)
                if _has(moment.element, "stop"):
                    stops.append(here)
        begin += time.length
    for stop in _unmatched_stops(starts, stops):
        _untie(cut, stop, "stop")
    for start in starts:
        _untie(cut, start, "start")


def _has(note: etree._Element, kind: str) -> bool:
    return any(tie.get("type") == kind for tie in note.findall("tie")) or any(
        tied.get("type") == kind for tied in note.iterfind("notations/tied")
    )


def _unmatched_stops(starts: list[_Tied], stops: list[_Tied]) -> list[_Tied]:
    """Take the matched starts out of `starts`, and give the stops that match none.

    A tie joins a note to one of the same sounding pitch that begins where the first ends; the same voice is
    preferred where two do.
    """
    unmatched: list[_Tied] = []
    for stop in stops:
        fitting = [
            start
            for start in starts
            if start[2] + start[1].duration == stop[2]
            and start[1].element is not stop[1].element
            and sounding_height(start[1].element) == sounding_height(stop[1].element)
        ]
        if not fitting:
            unmatched.append(stop)
            continue
        voice = voice_of(stop[1].element)
        starts.remove(next((s for s in fitting if voice_of(s[1].element) == voice), fitting[0]))
    return unmatched


def _untie(cut: Slice, tied: _Tied, kind: str) -> None:
    index, moment, _ = tied
    note = cut.twins[moment.element]
    for tie in [tie for tie in note.findall("tie") if tie.get("type") == kind]:
        note.remove(tie)
    marks = [mark for mark in note.iterfind("notations/tied") if mark.get("type") == kind]
    detail = next((mark.get("placement") or mark.get("orientation") or "" for mark in marks), "")
    for mark in marks:
        remove(mark)
    if not _at_edge(cut, index, moment, kind):
        cut.note_down("dropped", "tie", index, f"{pitch_name(moment.element)} is not tied to anything")
        return
    source = moment.element
    cut.open_ends.append(
        OpenEnd(
            kind="tie",
            edge="start" if kind == "stop" else "end",
            at=cut.position(index, moment),
            staff=int(staff_of(source)) if staff_of(source).isdecimal() else 1,
            voice=voice_of(source) or "1",
            pitch=pitch_name(source),
            detail={"over": "above", "under": "below"}.get(detail, detail),
        )
    )
    way = "from the bar before" if kind == "stop" else "into the bar after"
    cut.note_down("opened", "tie", index, f"{pitch_name(source)} {way}")
    if kind == "stop":
        _restore_accidental(cut, index, source, note)


def _at_edge(cut: Slice, index: int, moment: Moment, kind: str) -> bool:
    """At the edge of the cut, or where a repeat's ending begins or ends: its tie leads somewhere else."""
    measure = cut.bars.measures[index]
    if kind == "stop":
        if moment.onset != 0:
            return False
        return (index == cut.first and index > 0) or _ending(measure, "start")
    at_end = moment.end == cut.times[index - cut.first].length
    goes_on = index == cut.last and index + 1 < len(cut.bars)
    return at_end and (goes_on or _ending(measure, "stop") or _ending(measure, "discontinue"))


def _ending(measure: etree._Element, kind: str) -> bool:
    return any(ending.get("type") == kind for ending in measure.iterfind("barline/ending"))


def _restore_accidental(cut: Slice, index: int, source: etree._Element, note: etree._Element) -> None:
    pitch = source.find("pitch")
    if pitch is None or note.find("accidental") is not None:
        return
    alter = number_in(pitch.findtext("alter")) or Fraction(0)
    step = (pitch.findtext("step") or "").strip()
    if alter == _in_key(cut, index, staff_of(source), step) or alter not in _ACCIDENTALS:
        return
    accidental = etree.Element("accidental")
    accidental.text = _ACCIDENTALS[alter]
    insert_in_order(note, accidental, NOTE_ORDER)
    cut.note_down("restated", "accidental", index, f"{pitch_name(source)}, which stood before the barline")


def _in_key(cut: Slice, index: int, staff: str, step: str) -> Fraction:
    """Semitones that the key signature alters a letter by, in force at the start of a measure."""
    state = cut.bars.state(index)
    for attributes in cut.bars.measures[index].iterfind("attributes"):
        before = attributes.getprevious()
        if before is None or before.tag == "print":
            state.take(attributes)
    key = state.keys.get(staff, state.keys.get(None, state.keys.get("1")))
    if key is None or step not in STEP_SEMITONES:
        return Fraction(0)
    fifths = number_in(key.findtext("fifths"))
    if fifths is not None:
        place = _SHARPS.index(step)
        if fifths > 0:
            return Fraction(1 if place < fifths else 0)
        return Fraction(-1 if 6 - place < -fifths else 0)
    for key_step, key_alter in zip(key.findall("key-step"), key.findall("key-alter"), strict=False):
        if (key_step.text or "").strip() == step:
            return number_in(key_alter.text) or Fraction(0)
    return Fraction(0)
