"""An excerpt that is opened again and cut at the same bars is the same file, byte for byte.

Default tier: random small scores by hypothesis. Slow tier: random ranges of music21's corpus
(https://www.music21.org/).
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from excerpts.excerpt import Excerpt
from excerpts.score import open_score, score_from_bytes
from tests.music import DIVISIONS, bars_of, note
from tests.schema import schema_errors
from tests.score.cutting import attributes, clef, direction, dynamic, key, words
from tests.score.test_against_music21 import corpus

SLUR = "[<notations><slur type='{}' number='1'/></notations>]"
TIED = "[<notations><tied type='{}'/></notations>]"
MARKS = "[<notations><technical><down-bow/><fingering>2</fingering></technical></notations>]"
LOW = f"<backup><duration>{4 * DIVISIONS}</duration></backup>{note('A3:4', '2')}"

BAR = st.sampled_from(
    [
        "C5:1 D5:1 E5:1 F5:1",
        f"C5:2{SLUR.format('start')} D5:2",
        f"E5:2 F5:2{SLUR.format('stop')}",
        f"C5:2 A#4:2{TIED.format('start')}",
        f"A#4:2{TIED.format('stop')} C5:2",
        f"C5:2{MARKS} C5:2",
        f"C5:4 {LOW}",
        "C5:2/3 D5:2/3 E5:2/3 F5:2",
        "r:4",
        "",
    ]
)
SIGN = st.sampled_from(
    [
        "",
        words("pizz."),
        words("arco"),
        words("con sord."),
        words("Adagio"),
        dynamic("p"),
        dynamic("sf"),
        direction("<wedge type='crescendo'/>", "below"),
        direction("<wedge type='stop'/>", "below"),
        direction("<octave-shift type='down' size='8'/>"),
        direction("<octave-shift type='stop' size='8'/>"),
        direction("<metronome><beat-unit>quarter</beat-unit><per-minute>72</per-minute></metronome>"),
        direction("<metronome><beat-unit>quarter</beat-unit><beat-unit>half</beat-unit></metronome>"),
        attributes(key(-3)),
        attributes(clef("C", 3)),
        attributes("<time><beats>2</beats><beat-type>2</beat-type></time>"),
        attributes("<measure-style><multiple-rest>3</multiple-rest></measure-style>"),
        attributes("<measure-style><slash type='start'/></measure-style>"),
        attributes("<staff-details><staff-lines>4</staff-lines></staff-details>"),
        "<barline location='left'><ending number='1' type='start'/></barline>",
    ]
)
CLOSING = st.sampled_from(
    [
        "",
        "<barline location='right'><bar-style>light-light</bar-style></barline>",
        "<barline location='right'><ending number='1' type='stop'/><repeat direction='backward'/></barline>",
    ]
)
SCORES = st.lists(st.tuples(SIGN, BAR, SIGN, CLOSING), min_size=2, max_size=6)


def cut_at(data: bytes, first: int, last: int, context: int) -> Excerpt:
    return score_from_bytes(data, "test").part("#1").passage(f"@{first}-@{last}").cut(context)


@settings(max_examples=80, deadline=None)
@given(SCORES, st.integers(1, 6), st.integers(1, 6), st.sampled_from([0, 1]))
def test_a_cut_is_valid_and_cut_again_the_same(
    bars: list[tuple[str, str, str, str]], first: int, last: int, context: int
) -> None:
    data = bars_of(*[" ".join(tokens) for tokens in bars])
    first, last = sorted((min(first, len(bars)), min(last, len(bars))))
    excerpt = cut_at(data, first, last, context)
    assert schema_errors(excerpt.xml) == []
    before = excerpt.bars[0].place - 1
    again = cut_at(excerpt.xml, first - before, last - before, context)
    assert again.xml == excerpt.xml
    assert (again.tempo and again.tempo.quarters_per_minute) == (
        excerpt.tempo and excerpt.tempo.quarters_per_minute
    )
    assert again.boxes == excerpt.boxes
    assert [bar.length for bar in again.bars] == [bar.length for bar in excerpt.bars]


def files(count: int) -> list[Path]:
    found = sorted([*corpus().rglob("*.mxl"), *corpus().rglob("*.xml")])
    return random.Random(3).sample(found, count)


@pytest.mark.slow
@pytest.mark.parametrize("path", files(25), ids=lambda path: path.stem)
def test_real_scores_cut_again_are_the_same(path: Path) -> None:
    opened = open_score(path)
    chance = random.Random(path.stem)
    for info in opened.parts[:3]:
        part = opened.part(f"#{info.place}")
        for _ in range(3):
            first = chance.randint(1, len(part.bars))
            last = min(len(part.bars), first + chance.randint(0, 5))
            context = chance.choice((0, 1))
            excerpt = part.passage(f"@{first}-@{last}").cut(context)
            before = excerpt.bars[0].place - 1
            assert cut_at(excerpt.xml, first - before, last - before, context).xml == excerpt.xml
