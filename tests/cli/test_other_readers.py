"""Other libraries open what we write.

Outside checks: partitura (https://github.com/CPJKU/partitura) and music21 read our MusicXML, mido our MIDI.
Source: bars 41 to 48 of a string quartet movement of music21's corpus (mozart/k458/movement1).
"""

from __future__ import annotations

import warnings
from fractions import Fraction
from pathlib import Path

import mido
import pytest

from excerpts.cli import main
from excerpts.excerpt import Excerpt
from excerpts.notes import read_lines
from excerpts.score import open_score
from tests.score.test_against_music21 import corpus, parsed

SOURCE = corpus() / "mozart/k458/movement1.mxl"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("readers")
    for suffix in ("musicxml", "mxl", "mid"):
        target = str(folder / f"cut.{suffix}")
        assert main(["cut", str(SOURCE), "41-48", "--part", "#1", "-o", target]) == 0
    return folder


@pytest.fixture(scope="module")
def excerpt() -> Excerpt:
    return open_score(SOURCE).part("#1").passage("41-48").cut(context=1)


def ours(excerpt: Excerpt) -> list[tuple[Fraction, Fraction, int]]:
    """Onset, duration (ties merged) and MIDI number of every note, from our own note model."""
    (line,) = read_lines(excerpt)
    return sorted(
        (event.onset, event.duration, int(head.pitch.midi))
        for event in line.events
        for head in event.heads
        if head.pitch is not None
    )


@pytest.mark.parametrize("name", ["cut.musicxml", "cut.mxl"])
def test_partitura_reads_the_same_notes(written: Path, excerpt: Excerpt, name: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        (part,) = partitura.load_score(str(written / name)).parts
        notes = part.notes_tied
        beats = part.quarter_map
    theirs = sorted(
        (
            Fraction(float(beats(note.start.t))).limit_denominator(96),
            Fraction(float(beats(note.start.t + note.duration_tied) - beats(note.start.t))).limit_denominator(
                96
            ),
            note.midi_pitch,
        )
        for note in notes
    )
    assert theirs == ours(excerpt)


def test_music21_reads_the_same_notes(written: Path, excerpt: Excerpt) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = parsed((written / "cut.musicxml").read_bytes()).stripTies().flatten().notes
    theirs = sorted(
        (Fraction(n.offset).limit_denominator(96), Fraction(n.quarterLength).limit_denominator(96), p.midi)
        for n in stream
        for p in n.pitches
    )
    assert theirs == ours(excerpt)


def test_mido_reads_the_boxed_notes(written: Path, excerpt: Excerpt) -> None:
    file = mido.MidiFile(written / "cut.mid")
    heard = []
    for track in file.tracks:
        time = 0
        for message in track:
            time += message.time
            if message.type == "note_on" and message.velocity:
                heard.append((Fraction(time, file.ticks_per_beat), message.note))
    first, last = excerpt.bars[1].start, excerpt.bars[-1].start
    boxed = [(onset - first, number) for onset, _, number in ours(excerpt) if first <= onset < last]
    assert sorted(heard) == boxed
