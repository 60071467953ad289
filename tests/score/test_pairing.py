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
        (f"D5:4{START}", f"D5:4{SLUR.format('continue')}", PLAIN, f"D5:4{STOP}", PLAIN),
    ],
    ids=[
        "one after another",
        "one without an end",
        "one without a start",
        "a hairpin ended twice",
        "hairpins",
        "one that goes on",
    ],
)
def test_spans_around_a_cut_are_those_of_the_whole_part(bars: tuple[str, ...]) -> None:
    part = score_from_bytes(bars_of(*bars), "test").bars[0]
    whole = pair_spans(part)
    for first in range(5):
        for last in range(first, 5):
            assert within(pair_spans(part, first, last), first, last) == within(whole, first, last)


def pairs(*bars: str) -> tuple[list[tuple[int, int]], list[int]]:
    """The bars, from 0, that spans begin and end in, and those of ends without a partner."""
    found = pair_spans(score_from_bytes(bars_of(*bars), "test").bars[0])
    return [(start.bar, stop.bar) for start, stop in found.pairs], [end.bar for end in found.lone]


@pytest.mark.parametrize("types", [("start", "stop"), ("stop", "start")])
def test_a_note_does_not_end_the_slur_that_it_begins(types: tuple[str, str]) -> None:
    both = "".join(f"<slur type='{kind}' number='1'/>" for kind in types)
    assert pairs(f"D5:4[<notations>{both}</notations>]", f"D5:4{STOP}") == ([(0, 1)], [0])


def test_a_start_is_given_up_when_another_begins_three_bars_later() -> None:
    """Both have one number; a stop behind the second slur ends the first only where that began two bars before."""
    inside = f"D5:2{START} D5:2{STOP}", f"D5:4{STOP}"
    assert pairs(f"D5:4{START}", PLAIN, *inside) == ([(2, 2), (0, 3)], [])
    assert pairs(f"D5:4{START}", PLAIN, PLAIN, *inside) == ([(3, 3)], [0, 4])


def test_the_lines_behind_syllables_are_paired_verse_by_verse() -> None:
    syllable = "<lyric number='{}'><text>la</text><extend type='{}'/></lyric>"
    begin = "".join(syllable.format(verse, "start") for verse in (1, 2))
    ends = [f"D5:4[{syllable.format(verse, 'stop')}]" for verse in (1, 2)]
    found = pair_spans(score_from_bytes(bars_of(f"D5:4[{begin}]", *ends), "test").bars[0])
    assert [(start.number, stop.number, stop.bar) for start, stop in found.pairs] == [
        ("1", "1", 1),
        ("2", "2", 2),
    ]


def test_slurs_that_overlap_are_told_apart_by_their_numbers() -> None:
    slur = "D5:4[<notations><slur type='{}' number='{}'/></notations>]"
    ends = [("start", 1), ("start", 2), ("stop", 1), ("stop", 2)]
    assert pairs(*[slur.format(*end) for end in ends]) == ([(0, 2), (1, 3)], [])


def test_a_tuplet_of_a_voice_may_go_to_another_staff() -> None:
    mark = "[<staff>{}</staff><notations><tuplet type='{}' number='1'/></notations>]"
    assert pairs(f"D5:4{mark.format(1, 'start')}", f"D4:4{mark.format(2, 'stop')}") == ([(0, 1)], [])


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
