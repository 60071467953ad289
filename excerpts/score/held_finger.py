"""The finger and string of a note that goes on over the start of a cut, or is struck again there.

A finger that stands on the note before, of the same pitch and with no rest between, is still down.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Final

from lxml import etree

from excerpts.musicxml.format import is_cue
from excerpts.musicxml.pitch import midi_of
from excerpts.musicxml.timeline import Moment, walk
from excerpts.score.playing import ends_movement
from excerpts.score.slice import Slice, notations_of, voice_of

_SAID: Final = {"fingering": "finger", "string": "string"}


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
        for tag in _SAID:
            marks = before.findall(f"notations/technical/{tag}")
            if len(marks) != 1 or _is_second(marks[0]) or note.find(f"notations/technical/{tag}") is not None:
                continue
            _put(cut.twins[note], marks[0])
            where = cut.label(cut.first - 1)
            cut.note_down("restated", _SAID[tag], cut.first, f"{marks[0].text}, held from bar {where}")


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
    time = walk(cut.bars.measures[cut.first - 1], cut.bars.state(cut.first - 1).divisions)
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


def _put(note: etree._Element, mark: etree._Element) -> None:
    notations = notations_of(note)
    technical = notations.find("technical")
    if technical is None:
        technical = etree.SubElement(notations, "technical")
    copy = deepcopy(mark)
    for name in ("id", "default-x", "default-y", "relative-x", "relative-y"):
        copy.attrib.pop(name, None)
    technical.append(copy)
