"""Bow signs under new slurs: strokes alternate to the signs that are kept.

A sign that only told what the old slurs brought about goes; a retake stays where it still is one. A sign on a note that
keeps its bowing stays true: the first stroke of the phrase changes for it. By default strong beats are played down-bow
and an upbeat so that the beat it leads to comes as in the source, else down; a sign is written only where the bow can
start anew (at the start, after a silence of a beat) and would come out otherwise. The rule of the down-bow is in
Leopold Mozart's Violinschule, 1756; the rest is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from excerpts.musicxml.elements import Bow
from excerpts.notes import Event, Notation, Voice
from excerpts.notes.spell_events import bar_metres
from excerpts.variants.groups import on_beat
from excerpts.variants.spanning_marks import add_mark, map_marks, slurs
from excerpts.variants.strokes_of_bow import SIGNS, bow_sign, phrases, same_stroke, strokes


@dataclass(frozen=True, slots=True)
class _Phrase:
    """What is played between two places where the bow may start anew.

    Attributes:
        plays: The first note of each new stroke, and how many strokes it has.
        signs: The signs that may stay, by their notes; that of the first note is not among them.
        retakes: Which of them repeat the stroke before them in the source.
        was: The stroke of each note in the source.
    """

    plays: Mapping[int, int]
    signs: Mapping[int, str]
    retakes: Collection[int]
    was: Mapping[int, str]

    def strokes_before(self, note: int) -> int:
        """How many strokes there are from its start to a note."""
        return sum(times for first, times in self.plays.items() if first < note)


def signed_anew(line: Voice, source: Sequence[Event], varied: Collection[int], times: int = 1) -> Voice:
    """The line with the bow signs that are true of its slurs.

    Args:
        line: With its new slurs, and the signs of the source.
        source: Its events before, with the slurs of the source.
        varied: The notes that are bowed anew.
        times: How many strokes each of them will have.
    """
    old, made = slurs(tuple(source)), slurs(line.events)
    was = strokes(source, old)
    signs: dict[int, str] = {}
    expected = "down-bow"
    for notes in phrases(line.events):
        if not set(notes) & set(varied):
            signs |= {note: bow_sign(line.events[note]) for note in notes}
            expected = SIGNS[was[notes[-1]]]
            continue
        before = dict(zip(notes[1:], notes, strict=False))
        firsts = [note for note in notes if note not in before or not same_stroke(made, before[note], note)]
        signs |= {note: bow_sign(line.events[note]) for note in notes if note not in {*varied, *firsts}}
        given = {note: sign for note in firsts[1:] if (sign := bow_sign(source[note]))}
        retakes = [
            note
            for note, sign in given.items()
            if was[before[note]] == sign and not same_stroke(old, before[note], note)
        ]
        kept = {note: sign for note, sign in given.items() if note not in varied or note in retakes}
        plays = {note: times if note in varied else 1 for note in firsts}
        phrase = _Phrase(plays, kept, retakes, was)
        start = _start(line, phrase, notes[0] in varied, expected)
        if bow_sign(source[notes[0]]) or start != expected or next(iter(kept), None) in retakes:
            signs[notes[0]] = start
        expected = _walk(phrase, start, varied, signs)
    return replace(line, events=_with_signs(line.events, signs))


def _walk(phrase: _Phrase, stroke: str, varied: Collection[int], signs: dict[int, str]) -> str:
    """Note which signs of a phrase are true; tells the stroke that comes after it."""
    for place, (note, times) in enumerate(phrase.plays.items()):
        sign = phrase.signs.get(note, "")
        if sign and sign != stroke and note in phrase.retakes:
            signs[note] = stroke = sign
        elif sign == stroke and place and note not in varied:
            signs[note] = sign
        stroke = SIGNS[stroke] if times % 2 else stroke
    return stroke


def _start(line: Voice, phrase: _Phrase, varied: bool, expected: str) -> str:
    """The stroke with which a phrase starts."""
    first = next(iter(phrase.plays))
    own, anchor = bow_sign(line.events[first]), next(iter(phrase.signs), None)
    if own and not varied:
        return own
    if anchor is not None and anchor not in phrase.retakes:
        return _back(phrase.signs[anchor], phrase.strokes_before(anchor))
    if not varied:
        return expected
    target = _target(line, first)
    if target is None:
        return own or "down-bow"
    reached = next((note for note in phrase.plays if line.events[note].onset == target), None)
    if reached is None or (anchor is not None and anchor <= reached):
        return own or expected
    return _back(phrase.was[reached] if own else "down-bow", phrase.strokes_before(reached))


def _back(stroke: str, count: int) -> str:
    """The stroke so many strokes before another."""
    return SIGNS[stroke] if count % 2 else stroke


def _target(line: Voice, note: int) -> Fraction | None:
    """When the beat comes that an upbeat leads to; None for a note that is no upbeat."""
    onset = line.events[note].onset
    metres = bar_metres(line)
    bar = line.bar_at(onset)
    metre, shift = metres[bar]
    point = (onset - line.bars[bar].start + shift) % metre.length
    beat = metre.group_at(point)
    last = beat > 0 and beat + 1 == len(metre.groups)
    if point == 0 or (on_beat(line, metres, onset) and not last):
        return None
    return onset + metre.starts[beat + 1] - point


def _with_signs(events: tuple[Event, ...], signs: Mapping[int, str]) -> tuple[Event, ...]:
    """The events with these signs and no others; those of grace notes stay."""
    events = map_marks(
        events,
        lambda end, mark: (
            None
            if mark.name in SIGNS and not events[end.event].grace and signs.get(end.event) != mark.name
            else mark
        ),
    )
    for note, sign in signs.items():
        if sign and not bow_sign(events[note]):
            events = add_mark(events, note, Notation(Bow(sign)))
    return events
