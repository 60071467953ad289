"""Reads an excerpt as a performance: the notes of its box, or all of it, in every part that it has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Excerpt, span_of_boxes
from excerpts.instruments.instrument import INSTRUMENTS, Instrument
from excerpts.instruments.instrument_names import instrument_of_part_name
from excerpts.musicxml.elements import Words
from excerpts.musicxml.format import serialise
from excerpts.notes import Event, Voice, read_lines
from excerpts.notes.in_force import tempo_places
from excerpts.sound.graces import sounding
from excerpts.sound.levels import part_of_levels
from excerpts.sound.performance import Performance, Player, Struck, TempoMap
from excerpts.sound.playing_rules import CHANGE_WITHIN, FERMATAS, TEMPO_CHANGES
from excerpts.sound.repeats import stretches
from excerpts.sound.strike import Manner, struck_notes

DEFAULT_QUARTERS: Final = Fraction(120)
"""Quarter notes a minute where nothing is told (the MIDI file's own default)."""

_DEFAULT_PROGRAM: Final = INSTRUMENTS["violin"].program


def perform(excerpt: Excerpt, *, context: bool = False, upper_trills: bool = False) -> Performance:
    """The performance of the box of an excerpt; where it has no box, of all of it.

    Args:
        excerpt: Music of one part or of several.
        context: Play the bars around the box too.
        upper_trills: Trills begin with the note above, not with their own.
    """
    start, end = span_of_boxes(excerpt.bars, () if context else excerpt.boxes)
    notes: list[Struck] = []
    players: list[Player] = []
    lines: list[Voice] = []
    for place, part in enumerate(_parts(excerpt)):
        own = [line for line in read_lines(part) if line.events]
        instrument = instrument_of(part)
        for line, heard in zip(own, sounding(own), strict=True):
            struck = struck_notes(line, heard, Manner(len(players), instrument, upper_trills))
            within = _within(struck, start, end)
            notes += {(note.onset, note.length, note.pitch): note for note in within}.values()
            players.append(Player(place, part.origin.part, program(part)))
        lines += own
    tempos = _with_pauses(_tempos(excerpt, start, end), _pauses(lines), start, end)
    ordered = sorted(notes, key=lambda note: note.onset)
    first = lines[0] if lines else None
    order = stretches(first, start, end) if first else ()
    unplayed = tuple(_unplayed(first, tempos, start, end)) if first else ()
    return Performance(tuple(ordered), tempos, end - start, tuple(players), first, start, order, unplayed)


def _parts(excerpt: Excerpt) -> list[Excerpt]:
    """The parts of an excerpt, each as an excerpt of its own."""
    names = [part.get("id") for part in excerpt.tree().findall("part")]
    if len(names) == 1:
        return [excerpt]
    return [_only(excerpt, name) for name in names]


def _only(excerpt: Excerpt, name: str | None) -> Excerpt:
    root = excerpt.tree()
    for element in [*root.iterfind("part"), *root.iterfind("part-list/score-part")]:
        parent = element.getparent()
        if element.get("id") != name and parent is not None:
            parent.remove(element)
    printed = " ".join((root.findtext("part-list/score-part/part-name") or "").split())
    return replace(excerpt, xml=serialise(root), open_ends=(), origin=replace(excerpt.origin, part=printed))


def instrument_of(excerpt: Excerpt) -> Instrument | None:
    """The instrument of a part by the names that the file gives it; None where they tell none that is known."""
    score_part = excerpt.tree().find("part-list/score-part")
    paths = ("score-instrument/instrument-name", "score-instrument/instrument-sound", "part-name")
    names = [] if score_part is None else [score_part.findtext(path) or "" for path in paths]
    return next(filter(None, map(instrument_of_part_name, names)), None)


def program(excerpt: Excerpt) -> int:
    """General MIDI program of the part, from 0: by the instrument's name, else as the file says, else violin."""
    player = instrument_of(excerpt)
    if player is not None:
        return player.program
    number = (excerpt.tree().findtext("part-list/score-part/midi-instrument/midi-program") or "").strip()
    known = number.isdecimal() and len(number) < 4 and 1 <= int(number) <= 128
    return int(number) - 1 if known else _DEFAULT_PROGRAM


def _within(notes: Sequence[Struck], start: Fraction, end: Fraction) -> Iterator[Struck]:
    """The notes between two times, counted from the first of them."""
    for note in notes:
        stop = note.onset + note.length
        if note.onset >= end or stop <= start:
            continue
        if start <= note.onset and stop <= end:
            yield replace(note, onset=note.onset - start)
            continue
        first, last = max(note.onset, start), min(stop, end)
        levels = part_of_levels(note.levels, first - note.onset, last - note.onset)
        yield replace(note, onset=first - start, length=last - first, levels=levels)


def _tempos(excerpt: Excerpt, start: Fraction, end: Fraction) -> TempoMap:
    """The tempos that the score tells in numbers."""
    current = excerpt.tempo.quarters_per_minute if excerpt.tempo is not None else DEFAULT_QUARTERS
    later: list[tuple[Fraction, Fraction]] = []
    for place in tempo_places(excerpt, excerpt.tree()):
        time = excerpt.bars[place.at.bar].start + place.at.onset
        if place.sounding is None:
            continue
        if time <= start:
            current = place.sounding
        elif time < end:
            later.append((time - start, place.sounding))
    return TempoMap(((Fraction(0), current), *later), current)


def _unplayed(line: Voice, tempos: TempoMap, start: Fraction, end: Fraction) -> Iterator[str]:
    """The words for a changing tempo that no number of the file follows."""
    changes = [time + start for time, _ in tempos.changes]
    for placed in line.placed:
        time = line.time_of(placed)
        text = " ".join(sign.text.strip() for sign in placed.signs if isinstance(sign, Words))
        played = any(time <= change <= time + CHANGE_WITHIN for change in changes if change > start)
        if start <= time < end and TEMPO_CHANGES.search(text) and not played:
            yield f'bar {line.bars[placed.bar].label}: "{text}" is not played; the file does not say how slow or fast'


_Pause = tuple[Fraction, Fraction, Fraction]
"""Start and end of a note or rest under a pause, and how many times its length it is held."""


def _pauses(lines: Sequence[Voice]) -> Iterator[_Pause]:
    for line in lines:
        for event in line.events:
            marks = [*event.rest_marks, *event.marks]
            for mark in (mark for mark in marks if mark.name == "fermata" and event.duration):
                start, end = _segment(event, mark.segment)
                yield start, end, FERMATAS.get(mark.text, FERMATAS[""])


def _segment(event: Event, number: int) -> tuple[Fraction, Fraction]:
    """Start and end of one of the tied notes that an event is printed as."""
    parts = event.segments or (event.duration,)
    number = len(parts) - 1 if number < 0 or number >= len(parts) else number
    start = event.onset + sum(parts[:number], Fraction(0))
    return start, start + parts[number]


def _with_pauses(tempos: TempoMap, pauses: Iterator[_Pause], start: Fraction, end: Fraction) -> TempoMap:
    """The tempos with what is held as a slower tempo; where parts differ, the longest pause holds."""
    held = [(max(a, start) - start, min(b, end) - start, by) for a, b, by in pauses if a < end and b > start]
    if not held:
        return tempos
    times = {Fraction(0), *(time for time, _ in tempos.changes)}
    times |= {time for a, b, _ in held for time in (a, b) if time < end - start}
    changes: list[tuple[Fraction, Fraction]] = []
    for time in sorted(times):
        slower = max((by for a, b, by in held if a <= time < b), default=Fraction(1))
        number = tempos.at(time) / slower
        if not changes or changes[-1][1] != number:
            changes.append((time, number))
    return TempoMap(tuple(changes), tempos.first)
