"""Spans around a cut are paired as in the whole part. Default tier; every part of the corpus in the corpus tier."""

from __future__ import annotations

from pathlib import Path

import pytest

from excerpts.errors import ScoreError
from excerpts.score import open_score, score_from_bytes
from excerpts.score.bars import Bars
from excerpts.score.pairing import Pairing, pair_spans
from tests.corpus.check import corpus
from tests.music import bars_of
from tests.score.cutting import direction

MOVEMENT = corpus() / "mozart" / "k458" / "movement1.mxl"


def within(pairing: Pairing, first: int, last: int) -> tuple[object, ...]:
    """What a cut of measures `first` to `last` needs to know of the spans."""
    reaching = [pair for pair in pairing.pairs if pair[1].bar >= first and pair[0].bar <= last]
    starts = {start for start, _ in reaching}
    middles = {pair for pair in pairing.middles if pair[1] in starts}
    return reaching, middles, {end for end in pairing.lone if first <= end.bar <= last}


def differences(bars: Bars, step: int) -> list[tuple[int, int]]:
    """The cuts whose spans are not those of the whole part."""
    whole = pair_spans(bars)
    ranges = [(first, min(first + 3, len(bars) - 1)) for first in range(0, len(bars), step)]
    return [one for one in ranges if within(pair_spans(bars, *one), *one) != within(whole, *one)]


@pytest.mark.parametrize("part", [0, 1, 2, 3])
def test_a_quartet_movement_is_paired_around_each_cut_as_in_the_whole_part(part: int) -> None:
    """Mozart, K. 458 i, from music21's corpus: trills over several bars, some without an end."""
    assert differences(open_score(MOVEMENT).bars[part], 1) == []


SLUR = "[<notations><slur type='{}' number='1'/></notations>]"
START, STOP = SLUR.format("start"), SLUR.format("stop")
CRESC, DIM, END = (direction(f"<wedge type='{kind}'/>") for kind in ("crescendo", "diminuendo", "stop"))
PLAIN = "D5:4"


@pytest.mark.parametrize(
    "bars",
    [
        (f"D5:4{START}", PLAIN, f"D5:4{STOP}", f"D5:4{START}", f"D5:4{STOP}"),
        (f"D5:4{START}", PLAIN, f"D5:4{START}", f"D5:4{STOP}", PLAIN),
        (f"D5:4{STOP}", f"D5:4{START}", PLAIN, f"D5:4{STOP}", PLAIN),
        (f"{CRESC} D5:4 {END} {DIM} {END}", PLAIN, PLAIN, f"D5:4 {END}", PLAIN),
        (f"{CRESC} D5:4", PLAIN, f"D5:4 {END}", f"{DIM} D5:4", f"D5:4 {END}"),
    ],
    ids=[
        "one after another",
        "one without an end",
        "one without a start",
        "a hairpin ended twice",
        "hairpins",
    ],
)
def test_spans_around_a_cut_are_those_of_the_whole_part(bars: tuple[str, ...]) -> None:
    part = score_from_bytes(bars_of(*bars), "test").bars[0]
    whole = pair_spans(part)
    for first in range(5):
        for last in range(first, 5):
            assert within(pair_spans(part, first, last), first, last) == within(whole, first, last)


@pytest.mark.corpus
def test_all_of_the_corpus_is_paired_around_each_cut_as_in_the_whole_part() -> None:
    wrong: list[tuple[Path, int, list[tuple[int, int]]]] = []
    for path in sorted(corpus().rglob("*.mxl")) + sorted(corpus().rglob("*.xml")):
        try:
            parts = open_score(path).bars
        except ScoreError:
            continue
        wrong += [(path, n, found) for n, bars in enumerate(parts) if (found := differences(bars, 5))]
    assert wrong == []
