"""Writes an excerpt as a standard MIDI file: as printed, repeats off, at sounding pitch.

Trills and arpeggios are plain, grace notes short at the front of their note. Tempo: microseconds for a quarter
note, rounded (Standard MIDI Files 1.0).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Final

import mido

from excerpts.excerpt import Excerpt, Tempo
from excerpts.musicxml.elements import Signatures, Time
from excerpts.musicxml.format import SOFTWARE
from excerpts.notes import Voice, read_lines
from excerpts.notes.in_force import tempo_places
from excerpts.sound.clicks import (
    HIGH_WOOD_BLOCK,
    LOW_WOOD_BLOCK,
    PERCUSSION,
    Click,
    clicks_of,
    count_in_length,
)
from excerpts.sound.tones import Tone, program, tones

DEFAULT_QUARTERS: Final = Fraction(120)
"""Quarter notes a minute where nothing is told (the MIDI file's own default)."""

VELOCITY: Final = 80
"""How hard every note is struck, of 127."""

_FINEST: Final = 480
_MOST_TICKS: Final = 32767


def write_midi(
    excerpt: Excerpt,
    context: bool = False,
    *,
    tempo: Tempo | None = None,
    count_in: bool = False,
    click: bool = False,
) -> bytes:
    """Write the box of an excerpt, or all of it, as a MIDI file of type 1.

    Args:
        excerpt: Music of one part; where it has no box, all of it is written.
        context: Write the bars around the box too.
        tempo: Another tempo to start at; all later ones are scaled with it. Its beat is what clicks.
        count_in: A bar of clicks goes before it, and the beats of a bar that it starts late in.
        click: The clicks go on to the end.

    Returns:
        The file: a track of tempos and time signatures, then one for each voice, then one of clicks if asked for.
    """
    lines = [line for line in read_lines(excerpt) if line.events]
    start, end = _range(excerpt, context)
    before = count_in_length(lines[0], start) if count_in and lines else Fraction(0)
    clicks = (
        clicks_of(lines[0], start, end, before, tempo, to_the_end=click)
        if lines and (count_in or click)
        else []
    )
    voices = [_within(voice, start, end, before) for voice in tones(lines)]
    tempos = [(t + before if t else t, q) for t, q in _scaled(_tempos(excerpt, start, end), tempo)]
    metres = [(t + before if t else t, metre) for t, metre in _metres(lines, start, end)]
    length = before + end - start
    times = [t for voice in voices for tone in voice for t in (tone.start, tone.end)]
    ticks = _ticks_per_quarter(
        [*times, *(t for t, _ in tempos), *(t for t, _ in metres), *(one.time for one in clicks), length]
    )
    file = mido.MidiFile(type=1, ticks_per_beat=ticks)
    file.tracks.append(_conductor(excerpt, tempos, metres, length, ticks))
    for index, voice in enumerate(voices):
        channel = index % 15
        file.tracks.append(_track(voice, length, ticks, channel + (channel >= 9), program(excerpt)))
    if clicks:
        file.tracks.append(_clicks(clicks, length, ticks))
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def _range(excerpt: Excerpt, context: bool) -> tuple[Fraction, Fraction]:
    if context or not excerpt.boxes:
        return Fraction(0), excerpt.bars[-1].start + excerpt.bars[-1].length
    first, last = excerpt.boxes[0].start, excerpt.boxes[-1].end
    return excerpt.bars[first.bar].start + first.onset, excerpt.bars[last.bar].start + last.onset


def _within(voice: list[Tone], start: Fraction, end: Fraction, before: Fraction) -> list[Tone]:
    """The tones between two times, counted from `before` in front; the same tone twice at once only once."""
    kept = [
        Tone(max(tone.start, start) - start + before, min(tone.end, end) - start + before, tone.number)
        for tone in voice
        if tone.start < end and tone.end > start and 0 <= tone.number <= 127
    ]
    return list(dict.fromkeys(kept))


def _scaled(tempos: list[tuple[Fraction, Fraction]], tempo: Tempo | None) -> list[tuple[Fraction, Fraction]]:
    """The tempos in quarter notes a minute, in the proportion that makes the first one another."""
    if tempo is None:
        return tempos
    factor = tempo.quarters_per_minute / tempos[0][1]
    return [(time, quarters * factor) for time, quarters in tempos]


def _tempos(excerpt: Excerpt, start: Fraction, end: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Quarter notes a minute with the time from which they hold; the first at 0."""
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
    return [(Fraction(0), current), *later]


def _metres(lines: list[Voice], start: Fraction, end: Fraction) -> list[tuple[Fraction, tuple[int, int]]]:
    """Time signatures that MIDI can tell, with their times; the one in force at the start at 0."""
    first: tuple[int, int] | None = None
    later: list[tuple[Fraction, tuple[int, int]]] = []
    for placed in lines[0].placed if lines else ():
        if not isinstance(placed.sign, Signatures) or not placed.sign.times:
            continue
        time = lines[0].bars[placed.bar].start + placed.onset
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


def _track(voice: list[Tone], length: Fraction, ticks: int, channel: int, number: int) -> mido.MidiTrack:
    events: list[tuple[int, int, int, mido.Message]] = []
    for tone in voice:
        start, end = round(tone.start * ticks), round(tone.end * ticks)
        on = mido.Message("note_on", note=tone.number, velocity=VELOCITY, channel=channel)
        off = mido.Message("note_off", note=tone.number, velocity=0, channel=channel)
        events += [(start, 1, tone.number, on), (max(end, start + 1), 0, tone.number, off)]
    events.sort(key=lambda event: event[:3])
    first = (0, mido.Message("program_change", program=number, channel=channel))
    return _timed([first, *((time, message) for time, _, _, message in events)], round(length * ticks))


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
