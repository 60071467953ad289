"""Our cut, read by music21, against music21's own `measures()` on string quartets of its corpus.

Outside check: music21 (https://www.music21.org/) reads both the source and our file; pitches, onsets and
durations must agree exactly. Default tier: three movements; slow tier: all of them.
"""

from __future__ import annotations

import random
import warnings
from fractions import Fraction
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from excerpts.score import open_score
from tests.schema import schema_errors

FEW = ("mozart/k156/movement4.mxl", "haydn/opus1no1/movement4.mxl")
MANY = (
    *(f"mozart/k80/movement{n}.mxl" for n in (1, 2, 3, 4)),
    *(f"mozart/k155/movement{n}.mxl" for n in (1, 2, 3)),
    *(f"mozart/k156/movement{n}.mxl" for n in (1, 2, 3)),
    *(f"mozart/k458/movement{n}.mxl" for n in (1, 2, 3, 4)),
    *(f"haydn/opus1no1/movement{n}.mxl" for n in (1, 2, 3, 5)),
    *(f"haydn/opus74no1/movement{n}.mxl" for n in (1, 2, 3)),
    "schumann_robert/opus41no1/movement2.mxl",
)

Heard = tuple[int, Fraction, Fraction, tuple[float, ...]]
"""Which measure, onset in it and duration in quarter notes, and the MIDI numbers (none for a rest).

Onsets are held bar by bar, since music21 lengthens a bar of all parts when another part's is too long.
"""


def corpus() -> Path:
    spec = find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent / "corpus"


def heard(stream: Any) -> list[Heard]:
    """The notes and rests of a stream, grace notes too, as music21 reads them; hidden rests left out."""
    found = []
    for place, measure in enumerate(stream.getElementsByClass("Measure")):
        for element in measure.flatten().notesAndRests:
            if "Harmony" in element.classes or (element.isRest and element.style.hideObjectOnPrint):
                continue
            pitches = tuple(sorted(float(pitch.ps) for pitch in getattr(element, "pitches", ())))
            onset = Fraction(element.offset).limit_denominator(10_000)
            length = Fraction(element.duration.quarterLength).limit_denominator(10_000)
            found.append((place, onset, length, pitches))
    return sorted(found)


def parsed(source: Path | bytes) -> Any:
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if isinstance(source, bytes):
            return converter.parseData(source, format="musicxml")
        return converter.parse(str(source), forceSource=True)


def compare(name: str, ranges_a_part: int) -> int:
    """Hold some ranges of every part against music21; gives how many were held."""
    path = corpus() / name
    opened, reference = open_score(path), parsed(path)
    root = etree.fromstring(etree.tostring(opened.root))
    root.set("version", "4.0")
    source_is_valid = schema_errors(etree.tostring(root)) == []
    chance = random.Random(name)
    held = 0
    for info in opened.parts:
        part = opened.part(f"#{info.place}")
        numbers = [label for label in part.bars.labels if label.isdigit() and len(part.bars.runs(label)) == 1]
        for _ in range(ranges_a_part):
            first, last = sorted(int(n) for n in chance.sample(numbers, 2))
            last = min(last, first + chance.randint(0, 9))
            if str(last) not in numbers:
                continue
            excerpt = part.passage(f"{first}-{last}").cut(context=0)
            assert schema_errors(excerpt.xml) == [] or not source_is_valid
            theirs = reference.parts[info.place - 1].measures(first, last)
            ours = parsed(excerpt.xml).parts[0]
            assert heard(ours) == heard(theirs), f"{name}, part {info.place}, bars {first}-{last}"
            held += 1
    return held


@pytest.mark.parametrize("name", FEW)
def test_pitches_onsets_and_durations_agree(name: str) -> None:
    assert compare(name, 2) >= 6


@pytest.mark.long
@pytest.mark.parametrize("name", MANY)
def test_pitches_onsets_and_durations_agree_everywhere(name: str) -> None:
    assert compare(name, 3) >= 8
