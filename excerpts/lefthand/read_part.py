"""Reads a part for the left hand: all its voices as one hand, and what the score or the teacher says of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from typing import Final

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.instruments.instrument import (
    INSTRUMENTS,
    NUMERALS,
    THUMB,
    Instrument,
    instrument,
    instrument_of_part_name,
)
from excerpts.lefthand.hand_note import Given, HandNote, Harmonic
from excerpts.musicxml.pitch import Pitch
from excerpts.musicxml.playing_words import states_in
from excerpts.notes import Event, Head, Voice, read_lines
from excerpts.notes.in_force import tempo_places
from excerpts.score import Part
from excerpts.score.address import beat_at
from excerpts.sound.performance import TempoMap

USUAL_TEMPO: Final = Fraction(80)
"""Crotchets a minute where the score says no tempo: common practice, no source."""

_GRACE: Final = 0.1
"""Seconds of a grace note."""

_LASTS: Final = 8
"""Bars that words for a string hold on; further off, the hand has surely moved."""

_FINGERS: Final = {"0": 0, "1": 1, "2": 2, "3": 3, "4": 4, "T": THUMB}
_NUMERAL: Final = re.compile(r"\(?(I{1,3}|IV|V)[.)]?\)?")
_NUMBER: Final = re.compile(r"\b(IV|I{1,3}|V|\d)")
_LETTER: Final = re.compile(r"\b([A-Ga-g])\b")
_OPEN_PARTIALS: Final = {12, 19, 24, 28}


@dataclass(frozen=True, slots=True)
class PartNotes:
    """The notes of a part as the left hand has them.

    Attributes:
        part: The part.
        excerpt: It as music of its own, with the teacher's marks in it.
        player: Who plays it.
        notes: The notes.
        tempos: How fast they are.
        tempo_told: The score says so.
    """

    part: Part
    excerpt: Excerpt
    player: Instrument
    notes: tuple[HandNote, ...]
    tempos: TempoMap
    tempo_told: bool

    def beat(self, note: HandNote) -> str:
        """The beat that a note begins on, as it is counted: "2", "2.5"."""
        found = _beat(self.part, note.measure, note.within)
        return "" if found is None else f"{float(found):.4g}"

    def where(self, note: HandNote) -> str:
        """Bar and beat of a note, for messages."""
        beat = self.beat(note)
        return f"bar {self.part.bars.labels[note.measure]}" + (f" beat {beat}" if beat else "")


def read_part(part: Part, named: str | None = None, marks: Sequence[str] = ()) -> PartNotes:
    """Read a part.

    Args:
        part: The part.
        named: The instrument, where the part's name does not tell it.
        marks: The teacher's own marks.

    Raises:
        InputError: It is no part for one string instrument in its usual tuning, or has no notes.
        MarkError: A mark cannot be read, or there is no note for it.
    """
    player = _player(part, named)
    excerpt = part.passage(f"@1-@{len(part.bars)}").cut(0, marks)
    lines = read_lines(excerpt)
    _check(part, lines)
    tempos = dict(_tempos(excerpt))
    clock = TempoMap(tuple(sorted(({Fraction(0): USUAL_TEMPO} | tempos).items())), USUAL_TEMPO)
    said = _said(lines[0], player)
    found = sorted(
        (note for line in lines for note in _of_voice(line, player)),
        key=lambda one: (one[0].onset, not one[0].grace),
    )
    notes: list[HandNote] = []
    for _, same in groupby(found, key=lambda one: (one[0].onset, one[0].grace and one[1])):
        notes.append(_together([note for note, _ in same]))
    timed = _timed(notes, clock, part)
    return PartNotes(part, excerpt, player, tuple(_with_words(timed, said, player)), clock, bool(tempos))


def _player(part: Part, named: str | None) -> Instrument:
    info = part.info
    player = instrument(named) if named else instrument_of_part_name(info.name)
    player = player or instrument_of_part_name(info.instrument)
    if player is None:
        called = f"'{info.name or info.instrument}'" if info.name or info.instrument else "the part"
        raise InputError(
            f"{called} is not known as a part for strings.",
            where=part.score.name,
            hint=f"If it is one, say --instrument and one of {', '.join(INSTRUMENTS)}.",
        )
    return player


def _check(part: Part, lines: Sequence[Voice]) -> None:
    labels = part.bars.labels
    for line in lines:
        event = next((event for event in line.events if event.staff > 1 and event.heads), None)
        if event is not None:
            raise InputError(
                f"the part has two staves (from bar {labels[line.bar_at(event.onset)]}); a hand on strings reads one.",
                where=part.where,
                hint="Choose a part for one string instrument with --part.",
            )
        for placed in line.placed:
            if any(sign.name == "scordatura" or "scordatura" in sign.text.lower() for sign in placed.signs):
                raise InputError(
                    f"the strings are tuned anew in bar {labels[placed.bar]} (scordatura): "
                    "where the notes lie is not known.",
                    where=part.where,
                    hint="Fingerings are made for the usual tuning only.",
                )
    if not any(head.pitch for line in lines for event in line.events for head in event.heads):
        raise InputError("the part has no notes with a pitch.", where=part.where)


def _tempos(excerpt: Excerpt) -> Iterator[tuple[Fraction, Fraction]]:
    """Times in quarter notes from the start, and the quarter notes a minute that the score tells there."""
    if excerpt.tempo is not None:
        yield Fraction(0), excerpt.tempo.quarters_per_minute
    for place in tempo_places(excerpt, excerpt.tree()):
        if place.sounding is not None:
            yield excerpt.bars[place.at.bar].start + place.at.onset, place.sounding


def _of_voice(line: Voice, player: Instrument) -> Iterator[tuple[HandNote, int]]:
    """The notes of a voice, each with its place among grace notes of one time."""
    slurs: set[str] = set()
    held: dict[int, Fraction] = {}
    graces = 0
    for event in line.events:
        if event.cue or event.hidden or event.is_rest:
            continue
        new = [head for head in event.heads if head.pitch is not None and not _goes_on(head, event, held)]
        held = {
            round(head.pitch.midi): event.end
            for head in event.heads
            if head.pitch is not None and any(m.name == "tied" and m.edge == "start" for m in head.marks)
        }
        slurred = bool(slurs)
        for mark in (mark for head in event.heads for mark in head.marks if mark.name == "slur"):
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
            yield _of_event(line, event, new, slurred, player), graces


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


def _timed(notes: Sequence[HandNote], clock: TempoMap, part: Part) -> list[HandNote]:
    timed: list[HandNote] = []
    waiting, end = 0, Fraction(0)
    starts = [float(clock.seconds(note.onset)) for note in notes]
    for note, start in zip(reversed(notes), reversed(starts), strict=True):
        waiting = waiting + 1 if note.grace else 0
        lasts = _GRACE if note.grace else float(clock.seconds(note.onset + note.duration)) - start
        beat = None if note.grace else _beat(part, note.measure, note.within)
        on_beat = beat is not None and beat.denominator == 1
        timed.append(replace(note, time=start - waiting * _GRACE, seconds=lasts, on_beat=on_beat))
    timed.reverse()
    for index, note in enumerate(timed):
        silence = starts[index] - float(clock.seconds(end)) if note.onset > end else 0.0
        timed[index] = replace(note, silence=silence)
        end = max(end, note.onset + note.duration)
    return timed


def _beat(part: Part, measure: int, within: Fraction) -> Fraction | None:
    return beat_at(part.bars, part.bars.run_at(measure), measure, within)


@dataclass(frozen=True, slots=True)
class _Words:
    """Words for the hand: from when until when they hold, and what they say."""

    start: Fraction
    end: Fraction | None
    given: Given


def _said(line: Voice, player: Instrument) -> list[_Words]:
    """The words of a part that say a string or a position, in order of time."""
    found: list[_Words] = []
    lasting: list[tuple[Fraction, int | None, int]] = []
    for placed in line.placed:
        at = line.bars[placed.bar].start + placed.onset
        for sign in placed.signs:
            text = " ".join(sign.text.split())
            if _NUMERAL.fullmatch(text):
                string = _string(text, player)
                found.append(_Words(at, at, Given(string=string)))
                continue
            if sign.name in {"bracket", "dashes"} and sign.edge == "stop":
                lasting.append((at, None, placed.bar))
            for said in states_in(text) if sign.name == "words" else ():
                if said.kind == "string":
                    lasting.append((at, _string(said.words, player), placed.bar))
                elif said.kind == "position" and (number := _NUMBER.search(said.words)):
                    found.append(_Words(at, at, Given(position=_value(number[1]))))
    for index, (at, string, bar) in enumerate(lasting):
        if string is not None:
            last = min(bar + _LASTS, len(line.bars) - 1)
            end = line.bars[last].start + line.bars[last].length
            following = [other for other, *_ in lasting[index + 1 :] if other > at]
            found.append(_Words(at, min([end, *following]), Given(string=string)))
    return found


def _string(text: str, player: Instrument) -> int | None:
    """The string that words name, by its index from the lowest: "sul G", "IVa corda", "II"."""
    number = _NUMBER.search(text)
    if number is not None:
        index = len(player.strings) - _value(number[1])
        return index if 0 <= index < len(player.strings) else None
    letters = _LETTER.findall(text.replace("sul ", ""))
    wanted = letters[0].upper() if letters else ""
    return next((index for index, open_ in enumerate(player.strings) if open_.step == wanted), None)


def _value(text: str) -> int:
    return int(text) if text.isdecimal() else NUMERALS.index(text) + 1


def _with_words(notes: Sequence[HandNote], said: Sequence[_Words], player: Instrument) -> Iterator[HandNote]:
    """The notes with what the words at or before them say; what stands at a note itself comes first."""
    for note in notes:
        given = list(note.given)
        for words in said:
            if len(given) == 1 and (
                note.onset == words.start or words.start <= note.onset < (words.end or words.start)
            ):
                given[0] = _joined(given[0], words.given, note.pitches[0], player)
        yield replace(note, given=tuple(given))


def _joined(own: Given, words: Given, pitch: Pitch, player: Instrument) -> Given:
    string = words.string
    if string is not None and (own.string is not None or player.strings[string].midi > pitch.midi):
        string = None
    return replace(
        own,
        string=own.string if string is None else string,
        position=own.position if words.position is None else words.position,
    )
