"""The drone of a warm-up: its tonic, held all the way, for the ear to tune to.

It is not a voice of the page: in a MIDI file it is a track of its own, in a music file a second part.
"""

from __future__ import annotations

import io
from fractions import Fraction
from typing import Final

from excerpts.excerpt import Excerpt
from excerpts.instruments.staff import BASS, TREBLE, parse_pitch
from excerpts.musicxml.elements import Signatures
from excerpts.musicxml.pitch import Pitch
from excerpts.notes import Event, Head, TimedElement, Voice, read_lines
from excerpts.notes.in_force import signatures_at
from excerpts.notes.read import read_field
from excerpts.notes.write import with_second_part
from excerpts.notes.write_signs import new_part
from excerpts.warmups.warmup_names import DRONE

_SOFT: Final = 48
"""How hard the drone is struck, of 127: under the player, who hears himself over it."""

_ORGAN: Final = 19
"""General MIDI program of the drone, from 0: a church organ, which does not die away."""

_CHANNEL: Final = 15
"""Last MIDI channel, which no voice of a warm-up has."""


def drone_of(excerpt: Excerpt) -> Pitch | None:
    """The sounding note of a warm-up's drone; None where it has none."""
    text = read_field(excerpt, DRONE)
    return parse_pitch(text) if text else None


def with_drone_track(midi: bytes, drone: Pitch) -> bytes:
    """Add the drone to a MIDI file as its last track, for as long as the longest one.

    Args:
        midi: The file.
        drone: The sounding note.
    """
    import mido

    file = mido.MidiFile(file=io.BytesIO(midi))
    ticks = max(sum(message.time for message in track) for track in file.tracks)
    number = int(drone.midi)
    on = mido.Message("note_on", note=number, velocity=_SOFT, channel=_CHANNEL)
    off = mido.Message("note_off", note=number, velocity=0, channel=_CHANNEL, time=ticks)
    program = mido.Message("program_change", program=_ORGAN, channel=_CHANNEL)
    track = mido.MidiTrack([mido.MetaMessage("track_name", name="Drone"), program, on, off])
    track.append(mido.MetaMessage("end_of_track"))
    file.tracks.append(track)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def with_drone_part(excerpt: Excerpt, drone: Pitch) -> bytes:
    """The music file of a warm-up with its drone as a second part, in long tied notes.

    Args:
        excerpt: The warm-up.
        drone: The sounding note.
    """
    line = read_lines(excerpt)[0]
    clef = TREBLE if drone.midi >= 60 else BASS
    signs = [sign for sign in signatures_at(line, Fraction(0)).values() if sign.name in {"key", "time"}]
    opening = Signatures((*signs, clef.written))
    length = sum((bar.length for bar in line.bars), Fraction(0))
    part = Voice(
        events=(Event(Fraction(0), length, (Head(drone),)),),
        bars=line.bars,
        placed=(TimedElement(0, Fraction(0), opening),),
        measures=line.measures,
        part=new_part("Drone", _ORGAN, part_id="P2", channel=_CHANNEL + 1, instrument="Organ"),
    )
    return with_second_part(excerpt, part)
