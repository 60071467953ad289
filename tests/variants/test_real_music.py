"""Laws of the variants on real music: a quartet (default tier), music21's corpus (corpus tier).

Same pitches in the same order or the formula of the variant, bars exactly full, valid where the source is, engraved
without a new complaint.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from tests.notes.sources import corpus
from tests.variants.laws import VARIANTS, faults

STRINGS: Final = re.compile(r"viol(in|a)|(violon)?cello|vl[ncs]|vc", re.IGNORECASE)
"""Names of the parts that string players play; bass is left out, since the corpus calls singers so."""

PASSAGES: Final = 1
"""How many passages of each part the corpus tier takes."""


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


def string_parts() -> Iterator[tuple[Path, int]]:
    """Every violin, viola and cello part of the corpus."""
    for path in sorted(corpus().rglob("*")):
        if path.suffix in {".mxl", ".xml", ".musicxml"}:
            try:
                names = [part.name for part in open_score(path).parts]
            except InputError:
                continue
            yield from ((path, place) for place, name in enumerate(names, 1) if STRINGS.match(name or ""))


@pytest.mark.slow
@pytest.mark.parametrize(
    "part", [1, pytest.param(2, marks=pytest.mark.long), 3, pytest.param(4, marks=pytest.mark.long)]
)
def test_variants_of_a_quartet_keep_the_laws(part: int) -> None:
    """Mozart, K. 458 ii, two passages of each part."""
    made = 0
    for source in cuts(corpus() / "mozart" / "k458" / "movement2.mxl", part, 2, seed=1):
        for variant in VARIANTS:
            found = faults(source, variant)
            made += found == []
            assert found in ([], ["refused"]), f"{source.origin.address} {variant}"
    assert made >= 20


@pytest.mark.corpus
def test_variants_of_the_corpus_keep_the_laws() -> None:
    """Corpus tier: a passage of every violin, viola and cello part."""
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    for path, part in string_parts():
        for source in cuts(path, part, PASSAGES, seed=2):
            counts["passages"] += 1
            for variant in VARIANTS:
                found = faults(source, variant)
                counts[found[0] if found else "made"] += 1
                counts[f"{variant}: {found[0] if found else 'made'}"] += 1
                if found not in ([], ["refused"]):
                    wrong.append(f"{path.name} #{part} {source.origin.address} {variant}: {found}")
    print(counts)  # noqa: T201
    assert wrong == []
    assert counts["passages"] > 150
    assert {variant for variant in VARIANTS if not counts[f"{variant}: made"]} <= {"stop-before-shift"}
