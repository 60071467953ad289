"""Excerpts of real scores for the audit, the same ones at every run."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

from excerpts.errors import InputError
from excerpts.excerpt import Excerpt
from excerpts.score import open_score
from excerpts.system.resources import scores

SEED = 2026
_QUARTETS = frozenset({"beethoven", "haydn", "mozart", "schumann_robert"})


def demo_excerpts(step: int, length: int) -> Iterator[tuple[str, Excerpt]]:
    """A box of `length` bars at every `step`-th bar of every part of the demo scores."""
    for path in sorted(p for p in scores().iterdir() if p.suffix in {".musicxml", ".mxl"}):
        score = open_score(path)
        for info in score.parts:
            part = score.part(f"#{info.place}")
            for first in range(2, len(part.bars), step):
                address = f"@{first}-@{min(first + length - 1, len(part.bars))}"
                yield f"{path.name} #{info.place} {address}", part.passage(address).cut(context=1)


@lru_cache(maxsize=1)
def corpus_files() -> tuple[Path, ...]:
    """Every MusicXML file of music21's corpus, in the order of their paths."""
    spec = find_spec("music21")
    assert spec is not None
    assert spec.origin is not None
    folder = Path(spec.origin).parent / "corpus"
    return tuple(sorted(p for p in folder.rglob("*") if p.suffix in {".xml", ".mxl", ".musicxml"}))


def corpus_excerpts(count: int) -> Iterator[tuple[str, Excerpt]]:
    """So many boxes of one to eight bars from music21's corpus, every second one from string quartets."""
    dice = random.Random(SEED)
    found = 0
    quartets = [path for path in corpus_files() if _QUARTETS & set(path.parts)]
    while True:
        path = dice.choice(quartets if found % 2 else corpus_files())
        if found == count:
            return
        try:
            score = open_score(path)
            part = score.part(f"#{dice.randint(1, len(score.parts))}")
            first = dice.randint(1, len(part.bars))
            last = min(len(part.bars), first + dice.randint(0, 7))
            yield f"{path.parent.name}/{path.name} @{first}-@{last}", part.passage(f"@{first}-@{last}").cut()
        except InputError:
            continue
        found += 1
