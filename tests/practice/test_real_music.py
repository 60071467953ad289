"""Laws of the variants on real music: a quartet (default tier), music21's corpus (corpus tier).

Same pitches in the same order, bars exactly full, valid where the source is, engraved without a new complaint.
"""

from __future__ import annotations

import os
import random
import tempfile
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from excerpts.errors import InputError, VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import Event, read_lines
from excerpts.practice import vary
from excerpts.score import open_score
from tests.notes.sources import corpus
from tests.schema import schema_errors

SAME_NOTES = (
    "long-short", "short-long", "separate", "separate+long-short", "rhythm:3-1:stretched", "rhythm:2-1-1",
    "rhythm:3-1-1-1", "rhythm:3-1-1-1:kept", "triplet-long-short", "long-five-short", "burst", "burst:3:stop-first",
    "accent", "doubled", "rhythm:3-1+doubled", "slur", "slur:1-3", "slur:2-1-1+long-short", "hooked",
    "separate+long-short+hooked", "portato:4",
)  # fmt: skip
"""Variants with every note of the box once."""
OTHERS = (
    "slow:20", "burst:4:landing", "repeat", "repeat:3", "add-a-note", "backwards", "window:5", "add-a-beat",
    "add-a-bar", "last-bar-first", "outline", "acceleration", "long-short+short", "stop-before-shift",
    "open-strings", "lower-line", "upper-line",
)  # fmt: skip
VARIANTS = SAME_NOTES + OTHERS


def cuts(path: Path, part: int, count: int, seed: int) -> Iterator[Excerpt]:
    """Random passages of one to six bars of a part, chosen by a fixed seed."""
    chosen = random.Random(f"{path.name} {part} {seed}")
    wanted = open_score(path).part(f"#{part}")
    bars = len(wanted.bars)
    for _ in range(count):
        first = chosen.randint(1, bars)
        last = min(bars, first + chosen.randint(0, 5))
        try:
            yield wanted.passage(f"@{first}-@{last}").cut(1)
        except InputError:
            continue


def faults(source: Excerpt, variant: str) -> list[str]:
    """What is wrong with a variant of an excerpt; a refusal is no fault."""
    try:
        made = vary(source, variant)
    except VariantError:
        return ["refused"]
    found = []
    if schema_errors(made.xml) and not schema_errors(source.xml):
        found.append("not valid")
    if complaints(made) and not complaints(source):
        found.append("verovio complains")
    if not variant.startswith("slow"):
        found += [f"bar {label} is not full" for label in _unfilled(made)]
        voices = [_pitches(source, line) for line in range(len(read_lines(source)))]
        if variant in SAME_NOTES and _pitches(made) not in voices:
            found.append("not the same pitches")
    return found


def complaints(excerpt: Excerpt) -> str:
    """What verovio logs on reading an excerpt; its log goes to file descriptor 2."""
    import verovio

    verovio.enableLog(verovio.LOG_WARNING)
    with tempfile.TemporaryFile() as log:
        kept = os.dup(2)
        os.dup2(log.fileno(), 2)
        try:
            verovio.toolkit().loadData(etree.tostring(excerpt.tree(), encoding="unicode"))
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        log.seek(0)
        return log.read().decode()


def _unfilled(made: Excerpt) -> list[str]:
    (line,) = read_lines(made)
    return [
        bar.label
        for bar in made.bars
        if sum((_inside(event, bar.start, bar.start + bar.length) for event in line.events), Fraction(0))
        != bar.length
    ]


def _inside(event: Event, start: Fraction, end: Fraction) -> Fraction:
    return max(Fraction(0), min(event.end, end) - max(event.onset, start))


def _pitches(excerpt: Excerpt, line: int = 0) -> list[list[str]]:
    """The pitches of the box, without grace notes (a rhythm may leave them out)."""
    box = excerpt.boxes[0]
    start = excerpt.bars[box.start.bar].start + box.start.onset
    end = excerpt.bars[box.end.bar].start + box.end.onset
    return [
        [str(head.pitch) for head in event.heads]
        for event in read_lines(excerpt)[line].events
        if event.heads and not event.grace and event.onset < end and event.end > start
    ]


@pytest.mark.parametrize("part", [1, 2, 3, 4])
def test_variants_of_a_quartet_keep_the_laws(part: int) -> None:
    """Mozart, K. 458 ii, three passages of each part."""
    made = 0
    for source in cuts(corpus() / "mozart" / "k458" / "movement2.mxl", part, 3, seed=1):
        for variant in VARIANTS:
            found = faults(source, variant)
            made += found == []
            assert found in ([], ["refused"]), f"{source.origin.address} {variant}"
    assert made >= 3


@pytest.mark.corpus
def test_variants_of_the_corpus_keep_the_laws() -> None:
    """Corpus tier: a passage of every part of every score."""
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    for path in sorted(corpus().rglob("*")):
        if path.suffix not in {".mxl", ".xml", ".musicxml"}:
            continue
        try:
            parts = len(open_score(path).parts)
        except InputError:
            counts["not opened"] += 1
            continue
        for part in range(1, parts + 1):
            for source in cuts(path, part, 1, seed=2):
                for variant in VARIANTS:
                    found = faults(source, variant)
                    counts[f"{variant}: {found[0] if found else 'made'}"] += 1
                    if found not in ([], ["refused"]):
                        wrong.append(f"{path.name} #{part} {source.origin.address} {variant}: {found}")
    print(counts)  # noqa: T201
    assert wrong == []
