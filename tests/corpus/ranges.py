"""Which bars to cut: by a fixed seed, with edges inside what spans a barline where there is something."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.corpus.compare import SourcePart


@dataclass(frozen=True)
class Range:
    """The box, by places from 0, and the bars of context."""

    first: int
    last: int
    context: int
    why: str = ""


def choose(source: SourcePart, seed: str, count: int) -> list[Range]:
    """Ranges of a part: most of them with an edge inside a span, the others anywhere."""
    chance = random.Random(seed)
    bars = len(source.reading.bars)
    found: list[Range] = []
    crossed = _crossed(source)
    kinds = sorted(crossed)
    chance.shuffle(kinds)
    for index in range(count):
        context = chance.choice((0, 1, 1, 2))
        first = chance.randrange(bars)
        last = min(bars - 1, first + chance.randint(0, 8))
        why = ""
        if (index < count - 1 or count == 1) and kinds:
            why = kinds[index % len(kinds)]
            at = chance.choice(crossed[why])
            if chance.random() < 0.5:
                first = min(at + context, bars - 1)
                last = min(bars - 1, first + chance.randint(0, 8))
            else:
                last = max(at - 1 - context, 0)
                first = max(0, last - chance.randint(0, 8))
        found.append(Range(first, last, context, why))
    return found


def _crossed(source: SourcePart) -> dict[str, list[int]]:
    """By kind of span: the bars (from 0) at whose first barline one is open."""
    found: dict[str, set[int]] = {}
    for pair in source.spans.pairs:
        a, b = pair.start.place.bar, pair.stop.place.bar
        found.setdefault(pair.start.kind, set()).update(range(a + 1, min(b, a + 60) + 1))
    for start, stop in source.ties.pairs:
        if start.place.bar < stop.place.bar:
            found.setdefault("tie", set()).add(stop.place.bar)
    under = False
    for index, bar in enumerate(source.reading.bars):
        if under:
            found.setdefault("ending", set()).add(index)
        for kind, _, _ in bar.endings:
            under = kind == "start"
    return {kind: sorted(bars) for kind, bars in found.items() if bars}
