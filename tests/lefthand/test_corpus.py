"""All quartet parts of music21's corpus through the left hand: no failure, and few notes that no hand can play."""

from __future__ import annotations

import time
from pathlib import Path

import music21
import pytest

from excerpts.lefthand.fingering import finger_part
from excerpts.lefthand.read_part import read_part
from excerpts.score import open_score

CORPUS = Path(music21.__file__).parent / "corpus"
QUARTETS = sorted(
    path
    for composer in ("haydn", "mozart", "beethoven")
    for path in (CORPUS / composer).rglob("*.mxl")
    if path.parent.name != "k545"  # a piano sonata
)

UNPLAYABLE = 0.001
"""Share of the notes that may be beyond a hand: divisi written as chords, and faults of the files."""


@pytest.mark.corpus
def test_quartets_are_fingered(capsys: pytest.CaptureFixture[str]) -> None:
    notes = beyond = parts = 0
    slowest = 0.0
    told: list[str] = []
    for path in QUARTETS:
        opened = open_score(path)
        for info in opened.parts:
            read = read_part(opened.part(f"#{info.place}"))
            start = time.process_time()
            found = finger_part(read)
            slowest = max(slowest, (time.process_time() - start) / len(found.notes))
            assert [one.note for one in found.notes] == [*read.notes]
            none = [one for one in found.notes if one.place is None]
            parts, notes, beyond = parts + 1, notes + len(found.notes), beyond + len(none)
            told += [f"{path.parent.name}/{path.name}, {info.name}: {line}" for line in found.warnings]
    with capsys.disabled():
        print(f"\n{parts} parts, {notes} notes and chords, {beyond} that no hand can play")  # noqa: T201
        print(f"slowest part: {100_000 * slowest:.0f} ms for 100 notes", *told, sep="\n  ")  # noqa: T201
    assert parts >= 100
    assert beyond <= UNPLAYABLE * notes
