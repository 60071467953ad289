"""What a player knows at the first note of a cut from the bars before: the finger that is down, the stroke.

A finger that stands on the note before, of the same pitch and with no rest between, is still down. Strokes alternate;
a slur or tie is one stroke; a bow mark sets the direction (common practice, no source). Where the source tells nothing
(no mark, a rest of a beat or more since it, pizzicato), nothing is claimed.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from lxml import etree

from excerpts.musicxml.format import is_cue, unplaced
from excerpts.musicxml.pitch import midi_of
from excerpts.musicxml.timeline import Moment, walk
from excerpts.score.bars import BarRange, Bars
from excerpts.score.pairing import Pairing
from excerpts.score.playing import ends_movement
from excerpts.score.slice import Slice, technical_of, voice_of


def show_held_finger(cut: Slice) -> None:
    """Copy the finger of the last note before the cut to the first note, where both are the same note."""
    if cut.first == 0 or ends_movement(cut.bars.measures[cut.first - 1]):
        return
    for moment in cut.times[0].moments:
        note = moment.element
        if moment.onset or note.tag != "note" or not _is_single(note, moment):
            continue
        before = _last_before(cut, voice_of(note))
        if before is None or midi_of(before) != midi_of(note):
            continue
        for tag in ("fingering", "string"):
            marks = before.findall(f"notations/technical/{tag}")
            if len(marks) != 1 or _is_second(marks[0]) or note.find(f"notations/technical/{tag}") is not None:
                continue
            technical_of(cut.copies[note]).append(unplaced(marks[0]))
            where = cut.label(cut.first - 1)
            cut.note_down("restated", tag, cut.first, f"{marks[0].text}, held from bar {where}")


def _is_single(note: etree._Element, moment: Moment) -> bool:
    following = note.getnext()
    in_chord = following is not None and following.tag == "note" and following.find("chord") is not None
    return (
        bool(moment.duration)
        and note.find("pitch") is not None
        and not is_cue(note)
        and note.find("chord") is None
        and not in_chord
    )


def _last_before(cut: Slice, voice: str) -> etree._Element | None:
    """The one note of a voice that sounds up to the barline before the cut; None for rests and chords."""
    time = cut.bars.time(cut.first - 1)
    last = [
        moment.element
        for moment in time.moments
        if moment.element.tag == "note"
        and voice_of(moment.element) == voice
        and moment.duration
        and moment.end == time.length
        and not is_cue(moment.element)
    ]
    return last[0] if len(last) == 1 and last[0].find("pitch") is not None else None


def _is_second(mark: etree._Element) -> bool:
    """A finger that another one gives way to on the same note, or another way of playing it."""
    return "yes" in (mark.get("substitution"), mark.get("alternate"))


BARS_BACK: Final = 32
"""How far back a bow mark is looked for; further off, a miscount is likelier than a true answer."""

_LOST_AFTER: Final = Fraction(1)
"""A rest of this many quarter notes gives the player time to retake: the count is lost."""


@dataclass(slots=True)
class _Stroke:
    note: etree._Element
    mark: str
    rest_before: Fraction
    joined: bool = False


def show_first_stroke(cut: Slice, span: BarRange, pairing: Pairing) -> None:
    """Write the bow direction over the first boxed note where a player would start on the wrong one."""
    boxed = _first_boxed(cut, span)
    if boxed is None:
        return
    bar, onset, first = boxed
    marks = ("up-bow", "down-bow")
    if not any(next(m.iter(*marks), None) is not None for m in cut.bars.measures[_start(bar) : bar + 1]):
        return
    strokes = _strokes_up_to(cut.bars, bar, first)
    _join(strokes, pairing)
    direction = _direction(strokes)
    expected = "down-bow" if onset == 0 else ""
    if direction is None or direction == expected or strokes[-1].mark or strokes[-1].joined:
        return
    etree.SubElement(technical_of(cut.copies[first]), direction)
    cut.note_down("restated", direction, bar, "the stroke that falls on the first note")


def _first_boxed(cut: Slice, span: BarRange) -> tuple[int, Fraction, etree._Element] | None:
    """The first sounding note of the box, with the index of its bar and its onset there."""
    for index, moment in cut.moments():
        if (index, moment.onset) < (span.first, span.start) or (index, moment.onset) >= (span.last, span.end):
            continue
        note = moment.element
        if note.tag == "note" and not _rests(note) and note.find("grace") is None:
            return index, moment.onset, note
    return None


def _strokes_up_to(bars: Bars, last: int, first_boxed: etree._Element) -> list[_Stroke]:
    """The notes of the voice from a few bars back up to and including the first boxed one."""
    voice = voice_of(first_boxed)
    strokes: list[_Stroke] = []
    start = _start(last)
    state = bars.state(start)
    divisions, rest = state.divisions, Fraction(0)
    for measure in bars.measures[start : last + 1]:
        time = walk(measure, divisions)
        divisions = time.divisions
        if any("pizz" in (words.text or "") for words in measure.iterfind("direction/direction-type/words")):
            strokes.clear()
        for moment in time.moments:
            note = moment.element
            if note.tag != "note" or voice_of(note) != voice or _adds_no_stroke(note):
                continue
            if _rests(note):
                rest += moment.duration
                continue
            before = strokes[-1].note if strokes and not rest else None
            strokes.append(_Stroke(note, _mark(note), rest, _tied_from_before(note, before)))
            rest = Fraction(0)
            if note is first_boxed:
                return strokes
    return strokes


def _start(last: int) -> int:
    """Index of the first bar that is looked at for a note in bar `last`."""
    return max(0, last - BARS_BACK)


def _adds_no_stroke(note: etree._Element) -> bool:
    return note.find("chord") is not None or note.find("grace") is not None


def _rests(note: etree._Element) -> bool:
    """Whether the player has a rest: a cue is another's."""
    return note.find("rest") is not None or is_cue(note)


def _mark(note: etree._Element) -> str:
    for kind in ("up-bow", "down-bow"):
        if note.find(f"notations/technical/{kind}") is not None:
            return kind
    return ""


def _tied_from_before(note: etree._Element, before: etree._Element | None) -> bool:
    """Whether a note goes on in the stroke of the one before: some programs write only where ties start."""
    if any(tie.get("type") == "stop" for tie in note.iterfind("tie")):
        return True
    return (
        before is not None
        and any(tie.get("type") == "start" for tie in before.iterfind("tie"))
        and midi_of(before) == midi_of(note)
    )


def _join(strokes: list[_Stroke], pairing: Pairing) -> None:
    """Mark the notes that go on in the stroke of the note before: all of a slur but its first."""
    places = {stroke.note: index for index, stroke in enumerate(strokes)}
    for start, stop in pairing.pairs:
        if start.kind != "slur":
            continue
        begin = places.get(start.holder)
        end = places.get(stop.holder)
        if end is None and begin is not None and stop.bar >= start.bar:
            end = len(strokes) - 1 if _after_last(stop.holder, strokes) else None
        if end is None:
            continue
        for stroke in strokes[(begin + 1 if begin is not None else 0) : end + 1]:
            stroke.joined = True


def _after_last(holder: etree._Element, strokes: list[_Stroke]) -> bool:
    return bool(strokes) and voice_of(holder) == voice_of(strokes[-1].note)


def _direction(strokes: list[_Stroke]) -> str | None:
    """The direction of the last stroke of the list; None where it cannot be told."""
    direction: str | None = None
    for stroke in strokes:
        if stroke.mark:
            direction = stroke.mark
        elif stroke.rest_before >= _LOST_AFTER:
            direction = None
        elif direction is not None and not stroke.joined:
            direction = "up-bow" if direction == "down-bow" else "down-bow"
    return direction
