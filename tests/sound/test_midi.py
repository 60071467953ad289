"""MIDI files: tempo, pitch, length and instrument as published, against mido's and verovio's reading (default tier)."""

from __future__ import annotations

import base64
import io
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from lxml import etree

from excerpts.excerpt import Box, Excerpt, Position, Tempo
from excerpts.score import open_score
from excerpts.sound.midi import microseconds, write_midi
from excerpts.sound.perform import perform
from tests.notes.sources import corpus
from tests.variants.music import notes, passage


def read(data: bytes) -> mido.MidiFile:
    return mido.MidiFile(file=io.BytesIO(data))


def played(data: bytes) -> list[tuple[Fraction, Fraction, int]]:
    """Onset and length in quarter notes and number of each note, from all tracks, in order."""
    file = read(data)
    found: list[tuple[Fraction, Fraction, int]] = []
    for track in file.tracks:
        time, open_notes = 0, {}
        for message in track:
            time += message.time
            if message.type == "note_on" and message.velocity:
                open_notes[message.note] = time
            elif message.type in {"note_off", "note_on"} and message.note in open_notes:
                start = open_notes.pop(message.note)
                ticks = file.ticks_per_beat
                found.append((Fraction(start, ticks), Fraction(time - start, ticks), message.note))
    return sorted(found)


def separate(length: Fraction | int, quarters: int = 120) -> Fraction:
    """How long a note sounds that is not slurred: a tenth short, at most 50 milliseconds."""
    return length - min(Fraction(length) / 10, Fraction(quarters, 1200))


def struck(excerpt: Excerpt) -> list[tuple[Fraction, int]]:
    """Onset and number of each note as it is struck, ornaments one note."""
    return sorted((note.onset, round(note.pitch)) for note in perform(excerpt).notes)


def tempos(data: bytes) -> list[tuple[Fraction, int]]:
    file = read(data)
    time, found = 0, []
    for message in file.tracks[0]:
        time += message.time
        if message.type == "set_tempo":
            found.append((Fraction(time, file.ticks_per_beat), message.tempo))
    return found


@pytest.mark.parametrize(
    ("number", "unit", "expected"),
    [
        (40, 1, 1_500_000), (60, 1, 1_000_000), (63, 1, 952_381), (72, 1, 833_333), (92, 1, 652_174),
        (120, 1, 500_000), (138, 1, 434_783), (208, 1, 288_462), (60, Fraction(3, 2), 666_667),
        (60, 2, 500_000),
    ],
)  # fmt: skip
def test_tempo_figures(number: int, unit: Fraction, expected: int) -> None:
    """Standard MIDI Files: round(60 000 000 / quarters per minute); dotted crotchet = 60 is quarter = 90."""
    source = replace(passage("4/4", "C4/1 D4 E4 F4"), tempo=Tempo(Fraction(number), Fraction(unit)))
    assert tempos(write_midi(source)) == [(Fraction(0), expected)]


def test_tempo_fits_in_its_three_bytes() -> None:
    """The slowest a MIDI file can tell is 16 777 215 microseconds, 3.58 quarters a minute."""
    assert microseconds(Fraction(1)) == 16_777_215


def test_tempo_changes_inside_stand_where_they_are() -> None:
    bars = ["C4/1 D4 E4 F4", "G4/1 A4 B4 C5"]
    source = replace(passage("4/4", *bars), tempo=Tempo(Fraction(60)))
    change = (
        b"<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>60</per-minute>"
        b"</metronome></direction-type></direction>"
    )
    place = source.xml.index(b"<note><pitch><step>A")
    marked = replace(source, xml=source.xml[:place] + change + source.xml[place:])
    assert tempos(write_midi(marked)) == [(Fraction(0), 1_000_000), (Fraction(5), 500_000)]


def test_notes_are_exact_and_ties_are_one_note() -> None:
    source = passage("4/4", "C4/1/3 D4 E4 F4/1/2 G4~ G4/1 r/1", "A4/4~", "~A4/4")
    assert played(write_midi(source)) == [
        (Fraction(0), separate(Fraction(1, 3)), 60),
        (Fraction(1, 3), separate(Fraction(1, 3)), 62),
        (Fraction(2, 3), separate(Fraction(1, 3)), 64),
        (Fraction(1), separate(Fraction(1, 2)), 65),
        (Fraction(3, 2), separate(Fraction(3, 2)), 67),
        (Fraction(4), separate(8), 69),
    ]


def test_middle_c_is_60_and_chords_sound_together() -> None:
    """C4 = MIDI 60; Cb4 is 59 and B#4 72, whatever their octave number says."""
    source = passage("2/4", "C4+G4/1 Cb4/1/2 B#4")
    assert played(write_midi(source)) == [
        (Fraction(0), separate(1), 60),
        (Fraction(0), separate(1), 67),
        (Fraction(1), separate(Fraction(1, 2)), 59),
        (Fraction(3, 2), separate(Fraction(1, 2)), 72),
    ]


def test_one_tied_note_of_a_double_stop_is_held() -> None:
    source = passage("2/4", "C4+E4/1 C4+F4")
    low = b"<octave>4</octave></pitch><duration>24</duration>"
    xml = source.xml.replace(low, low + b"<tie type='start'/>", 1)
    second = xml.index(b"<step>C</step>", xml.index(b"<step>E</step>"))
    xml = xml[:second] + xml[second:].replace(low, low + b"<tie type='stop'/>", 1)
    assert played(write_midi(replace(source, xml=xml))) == [
        (Fraction(0), separate(1), 64),
        (Fraction(0), separate(2), 60),
        (Fraction(1), separate(1), 65),
    ]


def test_only_the_box_unless_the_context_is_asked_for() -> None:
    source = passage("2/4", "C4/1 D4", "E4/1 F4", "G4/1 A4", box=(1, 1))
    assert [number for _, _, number in played(write_midi(source))] == [64, 65]
    assert played(write_midi(source))[0][0] == 0
    assert read(write_midi(source)).length == 1.0
    assert len(played(write_midi(source, context=True))) == 6


def test_a_box_from_beat_to_beat_is_cut_there() -> None:
    source = passage("4/4", "C4/2 D4/2", "E4/2 F4/2")
    source = replace(source, boxes=(Box(Position(0, Fraction(1)), Position(1, Fraction(1))),))
    assert played(write_midi(source)) == [
        (Fraction(0), separate(1), 60),
        (Fraction(1), separate(2), 62),
        (Fraction(3), separate(1), 64),
    ]


def test_the_bass_sounds_an_octave_lower() -> None:
    """W3C MusicXML 4.0: `octave-change` -1, `chromatic` 0. E2 on paper is E1, MIDI 28."""
    source = passage("2/4", "E2/1 D3")
    transpose = (
        b"<transpose><diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change>"
        b"</transpose></attributes>"
    )
    moved = replace(source, xml=source.xml.replace(b"</attributes>", transpose))
    assert [number for _, _, number in played(write_midi(moved))] == [28, 38]


@pytest.mark.parametrize(
    ("name", "program"),
    [
        ("Violin I", 40), ("Violino", 40), ("Viola", 41), ("Bratsche", 41), ("Violoncello", 42), ("Cello", 42),
        ("Contrabass", 43), ("Double Bass", 43), ("Kontrabass", 43),
    ],
)  # fmt: skip
def test_programs(name: str, program: int) -> None:
    """General MIDI, counted from 0: 40 violin, 41 viola, 42 cello, 43 contrabass."""
    source = passage("2/4", "C4/1 D4")
    named = replace(source, xml=source.xml.replace(b"<part-name>Violin<", f"<part-name>{name}<".encode()))
    change = next(
        message for message in read(write_midi(named)).tracks[1] if message.type == "program_change"
    )
    assert change.program == program


@pytest.mark.parametrize("name", ["Flute", "Alto Flute", "Bass Clarinet"])
def test_another_instrument_keeps_the_program_of_the_file(name: str) -> None:
    source = passage("2/4", "C4/1 D4")
    part = (
        f"<part-name>{name}</part-name><score-instrument id='I'><instrument-name>{name}</instrument-name>"
        "</score-instrument><midi-instrument id='I'><midi-program>74</midi-program></midi-instrument>"
    ).encode()
    named = replace(source, xml=source.xml.replace(b"<part-name>Violin</part-name>", part))
    change = next(
        message for message in read(write_midi(named)).tracks[1] if message.type == "program_change"
    )
    assert change.program == 73


def test_grace_notes_are_short_and_in_front_of_their_note() -> None:
    source = passage("2/4", "C4/1 g:E4/1/4 D4/1")
    assert played(write_midi(source)) == [
        (Fraction(0), separate(1), 60),
        (Fraction(1), separate(Fraction(1, 8)), 64),
        (Fraction(9, 8), separate(Fraction(7, 8)), 62),
    ]


def test_every_voice_has_a_track() -> None:
    source = passage("2/4", "C5/1 D5")
    second = f"<backup><duration>48</duration></backup>{notes('C4/2').replace('<voice>1', '<voice>2')}"
    both = replace(source, xml=source.xml.replace(b"</measure>", second.encode() + b"</measure>"))
    file = read(write_midi(both))
    assert len(file.tracks) == 3
    assert {message.channel for track in file.tracks for message in track if message.type == "note_on"} == {
        0,
        1,
    }


def test_hidden_notes_and_cues_are_not_played() -> None:
    source = passage("2/4", "C4/1 D4")
    hidden = replace(
        source, xml=source.xml.replace(b"<note><pitch><step>C", b"<note print-object='no'><pitch><step>C")
    )
    assert [number for _, _, number in played(write_midi(hidden))] == [62]


def test_the_same_excerpt_gives_the_same_bytes() -> None:
    source = passage("6/8", "C4/1/2 D4 E4 F4/3/2")
    assert write_midi(source) == write_midi(source)


def _by_verovio(excerpt: Excerpt) -> bytes:
    import verovio

    toolkit = verovio.toolkit()
    verovio.enableLog(verovio.LOG_OFF)
    toolkit.loadData(etree.tostring(excerpt.tree(), encoding="unicode"))
    return base64.b64decode(toolkit.renderToMIDI())


@pytest.mark.parametrize(("part", "address"), [("#1", "41-48"), ("#3", "1-8"), ("#4", "100-110")])
def test_verovio_plays_the_same_notes(part: str, address: str) -> None:
    """An independent reading of the same MusicXML: Mozart, K. 458 i; verovio's own MIDI.

    Only onsets and pitches of what is struck: lengths and ornaments each plays in its own way.
    """
    path = corpus() / "mozart" / "k458" / "movement1.mxl"
    excerpt = open_score(path).part(part).passage(address).cut(0)
    ours = struck(excerpt)
    theirs = [(onset, number) for onset, _, number in played(_by_verovio(excerpt))]
    assert len(ours) > 20
    assert ours == theirs
