"""Writes a performance as a standard MIDI file.

Velocity tells the loudest point of a note, controller 11 what it is below that. Tempo: microseconds for a quarter
note, rounded (Standard MIDI Files 1.0).
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, lcm
from typing import Final

import mido

from excerpts.excerpt import Excerpt, Tempo
from excerpts.musicxml.elements import Signatures, Time
from excerpts.musicxml.format import SOFTWARE
from excerpts.notes import Voice
from excerpts.sound.clicks import (
    HIGH_WOOD_BLOCK,
    LOW_WOOD_BLOCK,
    PERCUSSION,
    Click,
    ClickStyle,
    clicks_of,
    count_in_length,
)
from excerpts.sound.levels import Levels
from excerpts.sound.perform import perform
from excerpts.sound.performance import Player, Struck, TempoMap

VELOCITY: Final = 80
"""How hard a note in mezzo forte is struck, of 127."""

EXPRESSION: Final = 11
"""Controller of the level within a note (General MIDI)."""

PIZZICATO: Final = 45
"""General MIDI program of plucked strings, from 0."""

_EXPRESSION_STEP: Final = Fraction(1, 16)


_FINEST: Final = 480
_MOST_TICKS: Final = 32767


def write_midi(
    excerpt: Excerpt,
    context: bool = False,
    *,
    tempo: Tempo | None = None,
    count_in: int = 0,
    click: ClickStyle | None = None,
) -> bytes:
    """Write the box of an excerpt, or all of it, as a MIDI file of type 1.

    Args:
        excerpt: Music of one part or of several; where it has no box, all of it is written.
        context: Write the bars around the box too.
        tempo: Another tempo to start at; all later ones are scaled with it. Its beat is what clicks.
        count_in: Bars of clicks that go before it, besides the beats of a bar that it starts late in.
        click: Which clicks go on to the end.

    Returns:
        The file: a track of tempos and time signatures, then one for each voice, then one of clicks if asked for.
    """
    performance = perform(excerpt, context=context)
    take, line, start = performance.at(tempo), performance.line, performance.start
    before, clicks, end = Fraction(0), [], start + take.length
    if line and count_in:
        before = count_in_length(line, start, count_in)
    if line and (count_in or click):
        clicks = clicks_of(line, start, end, before, tempo, click)
    notes = [replace(note, onset=note.onset + before) for note in take.notes if 0 <= note.pitch <= 127]
    tempos = _after(before, take.tempos)
    metres = [(t + before if t else t, metre) for t, metre in _metres(line, start, end)]
    length = before + take.length
    times = [length, *(t for t, _ in (*tempos, *metres)), *(one.time for one in clicks)]
    ticks = _ticks_per_quarter([*times, *(note.onset for note in notes)])
    file = mido.MidiFile(type=1, ticks_per_beat=ticks)
    file.tracks.append(_conductor(excerpt, tempos, metres, length, ticks))
    for index, player in enumerate(take.players):
        channel = index % 15
        own = [note for note in notes if note.voice == index]
        file.tracks.append(_track(own, player, length, ticks, channel + (channel >= PERCUSSION)))
    if clicks:
        file.tracks.append(_clicks(clicks, length, ticks))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def _after(before: Fraction, tempos: TempoMap) -> list[tuple[Fraction, Fraction]]:
    """The tempos behind a count-in, which is in the first of them, also where a pause holds that up."""
    later = [(time + before, quarters) for time, quarters in tempos.changes]
    if later[0][1] == tempos.first:
        later[0] = (Fraction(0), tempos.first)
    elif before:
        later.insert(0, (Fraction(0), tempos.first))
    return later


def _metres(line: Voice | None, start: Fraction, end: Fraction) -> list[tuple[Fraction, tuple[int, int]]]:
    """Time signatures that MIDI can tell, with their times; the one in force at the start at 0."""
    first: tuple[int, int] | None = None
    later: list[tuple[Fraction, tuple[int, int]]] = []
    for placed in line.placed if line else ():
        if not line or not isinstance(placed.sign, Signatures) or not placed.sign.times:
            continue
        time = line.time_of(placed)
        signature = _signature(placed.sign.times)
        if signature is None or time >= end:
            continue
        if time <= start:
            first = signature
        else:
            later.append((time - start, signature))
    return ([(Fraction(0), first)] if first is not None else []) + later


def _signature(times: Sequence[Time]) -> tuple[int, int] | None:
    pairs = [pair for time in times for pair in time.pairs]
    beats = [text for counts, _ in pairs for text in counts.split("+")]
    units = {unit.strip() for _, unit in pairs}
    if not beats or len(units) != 1 or not all(text.strip().isdecimal() for text in [*beats, *units]):
        return None
    numerator, denominator = sum(map(int, beats)), int(units.pop())
    plain = 0 < numerator < 256 and denominator > 0 and denominator & (denominator - 1) == 0
    return (numerator, denominator) if plain else None


def _ticks_per_quarter(times: list[Fraction]) -> int:
    """A resolution in which all times are whole ticks, if the format has one."""
    exact = lcm(_FINEST, *(time.denominator for time in times))
    return exact if exact <= _MOST_TICKS else _FINEST * (_MOST_TICKS // _FINEST)


def _conductor(
    excerpt: Excerpt,
    tempos: list[tuple[Fraction, Fraction]],
    metres: list[tuple[Fraction, tuple[int, int]]],
    length: Fraction,
    ticks: int,
) -> mido.MidiTrack:
    events: list[tuple[int, mido.MetaMessage]] = []
    if excerpt.origin.title:
        name = excerpt.origin.title.encode("latin-1", "replace").decode("latin-1")
        events.append((0, mido.MetaMessage("track_name", name=name)))
    events.append((0, mido.MetaMessage("text", text=f"Made with {SOFTWARE}")))
    for time, (numerator, denominator) in metres:
        message = mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator)
        events.append((round(time * ticks), message))
    for time, quarters in tempos:
        message = mido.MetaMessage("set_tempo", tempo=microseconds(quarters))
        events.append((round(time * ticks), message))
    events.sort(key=lambda event: event[0])
    return _timed(events, round(length * ticks))


def microseconds(quarters_per_minute: Fraction) -> int:
    """Tempo of a MIDI file: microseconds for a quarter note, at most 24 bits of them."""
    return min(2**24 - 1, max(1, round(60_000_000 / quarters_per_minute)))


def _track(notes: list[Struck], player: Player, length: Fraction, ticks: int, channel: int) -> mido.MidiTrack:
    """The notes of a voice; where it is plucked, with the program for that."""
    events: list[tuple[int, int, int, mido.Message]] = []
    sounding = player.program
    for note in notes:
        start, end = round(note.onset * ticks), round((note.onset + note.length) * ticks)
        number, peak = round(note.pitch), max(level for _, level in note.levels)
        wanted = PIZZICATO if note.kind == "plucked" else player.program
        if wanted != sounding:
            events.append((start, 1, 0, mido.Message("program_change", program=wanted, channel=channel)))
            sounding = wanted
        for time, share in _expression(note.levels, peak):
            control = mido.Message("control_change", control=EXPRESSION, value=share, channel=channel)
            events.append((start + round(time * ticks), 2, 0, control))
        on = mido.Message("note_on", note=number, velocity=_of_127(VELOCITY, peak), channel=channel)
        off = mido.Message("note_off", note=number, velocity=0, channel=channel)
        events += [(start, 3, number, on), (max(end, start + 1), 0, number, off)]
    events.sort(key=lambda event: event[:3])
    first = (0, mido.Message("program_change", program=player.program, channel=channel))
    return _timed([first, *_that_change(events)], round(length * ticks))


def _expression(levels: Levels, peak: float) -> Iterator[tuple[Fraction, int]]:
    """Controller 11 along a note: how far below its peak it is."""
    for (start, low), (end, high) in pairwise(levels):
        steps = max(1, ceil((end - start) / _EXPRESSION_STEP)) if low != high else 1
        for step in range(steps):
            yield start + (end - start) * step / steps, _of_127(127, low + (high - low) * step / steps - peak)
    yield levels[-1][0], _of_127(127, levels[-1][1] - peak)


def _of_127(most: int, decibels: float) -> int:
    """A velocity or a controller so many decibels from another: 40 log10(value / 127) (General MIDI level 2)."""
    return max(1, min(127, round(most * 10 ** (decibels / 40))))


def _that_change(events: Iterable[tuple[int, int, int, mido.Message]]) -> Iterator[tuple[int, mido.Message]]:
    """The messages without controllers that say again what holds; 127 holds where nothing is said."""
    value = 127
    for time, _, _, message in events:
        if message.type == "control_change":
            if message.value == value:
                continue
            value = message.value
        yield time, message


def _clicks(clicks: list[Click], length: Fraction, ticks: int) -> mido.MidiTrack:
    """Wood blocks on the percussion channel, the first of each bar higher (General MIDI 1 percussion map)."""
    events: list[tuple[int, mido.Message]] = []
    for click in clicks:
        number = HIGH_WOOD_BLOCK if click.strong else LOW_WOOD_BLOCK
        time = round(click.time * ticks)
        on = mido.Message("note_on", note=number, velocity=VELOCITY, channel=PERCUSSION)
        off = mido.Message("note_off", note=number, velocity=0, channel=PERCUSSION)
        events += [(time, on), (time + max(1, ticks // 16), off)]
    return _timed(events, round(length * ticks))


def _timed(events: list[tuple[int, mido.Message]], end: int) -> mido.MidiTrack:
    """A track from messages at absolute ticks, in order, that lasts to `end`."""
    track = mido.MidiTrack()
    now = 0
    for time, message in events:
        track.append(message.copy(time=time - now))
        now = time
    track.append(mido.MetaMessage("end_of_track", time=max(0, end - now)))
    return track
