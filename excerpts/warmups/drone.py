"""The drone of a warm-up: its tonic, held all the way, for the ear to tune to.

It is no voice of the page: in a MIDI file it is a track of its own, in a music file a second part.
"""

from __future__ import annotations

import io
from typing import Final

from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.instruments.staff import parse_pitch
from excerpts.musicxml.format import serialise
from excerpts.musicxml.pitch import Pitch
from excerpts.warmups.warmup_names import DRONE, field

_SOFT: Final = 48
"""How hard the drone is struck, of 127: under the player, who hears himself over it."""

_ORGAN: Final = 19
"""General MIDI program of the drone, from 0: a church organ, which does not die away."""

_CHANNEL: Final = 15
"""Last MIDI channel, which no voice of a warm-up has."""


def drone_of(excerpt: Excerpt) -> Pitch | None:
    """The sounding note of a warm-up's drone; None where it has none."""
    text = field(excerpt, DRONE)
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
    root = excerpt.tree()
    parts = root.find("part-list")
    first = root.find("part")
    assert parts is not None
    assert first is not None
    parts.append(
        etree.fromstring(
            '<score-part id="P2"><part-name>Drone</part-name><score-instrument id="P2-I1">'
            '<instrument-name>Organ</instrument-name></score-instrument><midi-instrument id="P2-I1">'
            f"<midi-channel>16</midi-channel><midi-program>{_ORGAN + 1}</midi-program></midi-instrument>"
            "</score-part>"
        )
    )
    root.append(_part(first, excerpt, drone))
    return serialise(root)


def _part(first: etree._Element, excerpt: Excerpt, drone: Pitch) -> etree._Element:
    divisions = int(first.findtext(".//divisions") or "1")
    part = etree.Element("part", id="P2")
    metre = ""
    for index, (measure, bar) in enumerate(zip(first.iterfind("measure"), excerpt.bars, strict=True)):
        new = etree.SubElement(part, "measure", dict(measure.attrib))
        if index == 0:
            time, key = (measure.find(f"attributes/{tag}") for tag in ("time", "key"))
            metre = "".join(etree.tostring(e, encoding="unicode") for e in (key, time) if e is not None)
            clef = "<sign>G</sign><line>2</line>" if drone.midi >= 60 else "<sign>F</sign><line>4</line>"
            new.append(
                etree.fromstring(
                    f"<attributes><divisions>{divisions}</divisions>{metre}<clef>{clef}</clef></attributes>"
                )
            )
        ends = [
            edge for edge, there in (("stop", index > 0), ("start", bar is not excerpt.bars[-1])) if there
        ]
        new.append(_note(drone, int(bar.length * divisions), ends))
    return part


def _note(drone: Pitch, ticks: int, ties: list[str]) -> etree._Element:
    alter = f"<alter>{drone.alter}</alter>" if drone.alter else ""
    pitch = f"<pitch><step>{drone.step}</step>{alter}<octave>{drone.octave}</octave></pitch>"
    sound = "".join(f'<tie type="{edge}"/>' for edge in ties)
    drawn = "".join(f'<tied type="{edge}"/>' for edge in ties)
    notations = f"<notations>{drawn}</notations>" if ties else ""
    return etree.fromstring(
        f"<note>{pitch}<duration>{ticks}</duration>{sound}<voice>1</voice>{notations}</note>"
    )
