"""The notes of voices as the left hand has them: all voices of a staff as one hand, tied notes once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, groupby
from typing import Final

from excerpts.instruments.instrument import THUMB, Instrument
from excerpts.lefthand.hand_note import Given, HandNote, Harmonic
from excerpts.lefthand.hand_words import with_words, words_of
from excerpts.musicxml.metre import Metre
from excerpts.musicxml.pitch import Pitch
from excerpts.notes import Event, Head, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.sound.performance import TempoMap

_GRACE: Final = 0.1
"""Seconds of a grace note."""

_FINGERS: Final = {"0": 0, "1": 1, "2": 2, "3": 3, "4": 4, "T": THUMB}
_OPEN_PARTIALS: Final = {12, 19, 24, 28}


def notes_of(lines: Sequence[Voice], player: Instrument, clock: TempoMap) -> list[HandNote]:
    """The notes of the voices of a staff, in order of time.

    Args:
        lines: The voices.
        player: The instrument.
        clock: How fast they are.
    """
    timed = sorted(
        (note for line in lines for note in _of_voice(line, player)),
        key=lambda one: (one[0].onset, not one[0].grace),
    )
    notes = [
        _together([note for note, _ in same])
        for _, same in groupby(timed, key=lambda one: (one[0].onset, one[0].grace and one[1]))
    ]
    return list(with_words(_timed(notes, clock, lines[0]), words_of(lines[0], player), player))


def _beats(metre: Metre) -> frozenset[Fraction]:
    """Where the beats that players count begin, in quarter notes from the start of a whole bar."""
    return frozenset({Fraction(0), *accumulate(metre.counts)})


def _of_voice(line: Voice, player: Instrument) -> Iterator[tuple[HandNote, int]]:
    """The notes of a voice, each with its place among grace notes of one time."""
    slurs: set[str] = set()
    held: dict[int, Fraction] = {}
    graces = 0
    for index, event in enumerate(line.events):
        if event.cue or event.hidden or event.is_rest:
            continue
        new = [head for head in event.heads if head.pitch is not None and not _goes_on(head, event, held)]
        held = {
            round(head.pitch.midi): event.end
            for head in event.heads
            if head.pitch is not None and any(m.name == "tied" and m.edge == "start" for m in head.marks)
        }
        slurred = bool(slurs)
        for mark in (mark for mark in event.marks if mark.name == "slur"):
            number = getattr(mark.sign, "number", "")
            slurs = (
                slurs | {number}
                if mark.edge == "start"
                else slurs - {number}
                if mark.edge == "stop"
                else slurs
            )
        graces = graces + 1 if event.grace else 0
        if new:
            yield replace(_of_event(line, event, new, slurred, player), event=index), graces


def _goes_on(head: Head, event: Event, held: dict[int, Fraction]) -> bool:
    """Whether a head is tied to one that sounds already."""
    tied = any(mark.name == "tied" and mark.edge == "stop" for mark in head.marks)
    return tied and head.pitch is not None and held.get(round(head.pitch.midi)) == event.onset


def _of_event(
    line: Voice, event: Event, heads: Sequence[Head], slurred: bool, player: Instrument
) -> HandNote:
    measure = line.bar_at(event.onset) - event.closing
    placed = sorted(((head.pitch, head) for head in heads if head.pitch), key=lambda one: one[0].midi)
    return HandNote(
        pitches=tuple(pitch for pitch, _ in placed),
        given=tuple(_given(pitch, head, player) for pitch, head in placed),
        onset=event.onset,
        slurred=slurred,
        trill=any(mark.name == "trill-mark" for head in heads for mark in head.marks),
        grace=bool(event.grace),
        measure=measure,
        within=event.onset - line.bars[measure].start,
        duration=event.duration,
    )


def _given(pitch: Pitch, head: Head, player: Instrument) -> Given:
    """What is written at a note."""
    texts = {mark.name: mark.text for mark in reversed(head.marks)}
    finger = _FINGERS.get(texts.get("fingering", ""))
    if "thumb-position" in texts:
        finger = THUMB
    elif "open-string" in texts and finger is None:
        finger = 0
    number = texts.get("string", "")
    count = len(player.strings)
    string = count - int(number) if number.isdecimal() and 1 <= int(number) <= count else None
    harmonic = _harmonic(head)
    above = {round(pitch.midi - open_.midi) for open_ in player.strings}
    if finger == 0 and 0 not in above:  # a ring over a note that no open string has is a harmonic
        harmonic, finger = harmonic or ("natural" if above & _OPEN_PARTIALS else ""), None
    return Given(finger, string, None, harmonic)


def _harmonic(head: Head) -> Harmonic:
    mark = next((mark for mark in head.marks if mark.name == "harmonic"), None)
    if mark is not None:
        return "artificial" if "artificial" in getattr(mark.sign, "xml", "") else "natural"
    look = next((mark.text for mark in head.marks if mark.name == "notehead"), "")
    return "artificial" if look == "diamond" else ""


def _together(notes: Sequence[HandNote]) -> HandNote:
    """Notes of several voices that begin together, as one chord; a unison of two voices is one note."""
    if len(notes) == 1:
        return notes[0]
    heads: dict[Pitch, tuple[Pitch, Given]] = {}
    pairs = [*zip(notes[0].pitches, notes[0].given, strict=True)]
    for note in notes[1:]:
        heads = dict((pitch, (pitch, given)) for pitch, given in pairs)
        pairs += [(p, g) for p, g in zip(note.pitches, note.given, strict=True) if p not in heads]
    pairs.sort(key=lambda pair: pair[0].midi)
    return replace(
        notes[0],
        pitches=tuple(pitch for pitch, _ in pairs),
        given=tuple(given for _, given in pairs),
        slurred=any(note.slurred for note in notes),
        trill=any(note.trill for note in notes),
        duration=max(note.duration for note in notes),
    )


def _timed(notes: Sequence[HandNote], clock: TempoMap, line: Voice) -> list[HandNote]:
    timed: list[HandNote] = []
    waiting, end = 0, Fraction(0)
    beats = [(_beats(metre), shift) for metre, shift in bar_metres(line)]
    starts = [float(clock.seconds(note.onset)) for note in notes]
    for note, start in zip(reversed(notes), reversed(starts), strict=True):
        waiting = waiting + 1 if note.grace else 0
        lasts = _GRACE if note.grace else float(clock.seconds(note.onset + note.duration)) - start
        counted, shift = beats[note.measure]
        on_beat = not note.grace and note.within + shift in counted
        timed.append(replace(note, time=start - waiting * _GRACE, seconds=lasts, on_beat=on_beat))
    timed.reverse()
    for index, note in enumerate(timed):
        silence = starts[index] - float(clock.seconds(end)) if note.onset > end else 0.0
        timed[index] = replace(note, silence=silence)
        end = max(end, note.onset + note.duration)
    return timed
