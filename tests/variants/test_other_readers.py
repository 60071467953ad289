"""music21, partitura and the W3C's schema read every variant: full bars, whole tuplets, valid.

Default tier: a passage of a quartet, and sources with rounded durations, uneven chords or no metre. Corpus tier: a
passage of every violin, viola and cello part of music21's corpus; the counts are printed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest
from lxml import etree

from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt
from excerpts.notes import write_line
from excerpts.variants import vary
from excerpts.variants.passage import take_box
from tests.notes.sources import corpus
from tests.schema import schema_errors
from tests.variants import test_rounding, test_written_again
from tests.variants.laws import KEPT, STRETCHED, VARIANTS
from tests.variants.other_readers import bowing_faults, complaints
from tests.variants.test_real_music import cuts, string_parts


def read_all(source: Excerpt, counts: Counter[str]) -> list[str]:
    """What is wrong with the variants of a source that is itself in order."""
    counts["passages"] += 1
    source_is_valid = not schema_errors(source.xml)
    if complaints(source):
        counts["sources that cannot be read as they are"] += 1
        return []
    wrong: list[str] = []
    try:
        box = write_line(take_box(source))
    except VariantError:
        return []
    for name in VARIANTS:
        try:
            made = vary(source, name)
        except VariantError:
            counts["refused"] += 1
            continue
        found = complaints(made) + (schema_errors(made.xml)[:1] if source_is_valid else [])
        if name in (*KEPT, *STRETCHED) and b"<chord" not in made.xml:
            found += bowing_faults(box, made)
            counts["bowings read"] += 1
        counts["made"] += 1
        counts["wrong"] += bool(found)
        wrong += [f"{source.origin.score} {source.origin.address} {name}: {what}" for what in found]
    return wrong


@pytest.mark.slow
def test_variants_of_a_quartet() -> None:
    """Mozart, K. 458 ii, one passage of the first violin."""
    counts: Counter[str] = Counter()
    for source in cuts(corpus() / "mozart" / "k458" / "movement2.mxl", 1, 1, seed=1):
        assert read_all(source, counts) == []
    print(counts)  # noqa: T201
    assert counts["made"] >= 20


@pytest.mark.slow
@pytest.mark.parametrize(
    "source",
    [
        lambda: test_rounding.passage(256, 85, 85, 85),
        lambda: test_written_again.uneven(long_first=False),
        test_written_again.without_metre,
    ],
    ids=["rounded triplets", "uneven chords", "no metre"],
)
def test_variants_of_odd_sources(source: Callable[[], Excerpt]) -> None:
    made = test_written_again.made(source())
    assert len(made) > 10
    assert [f"{name}: {what}" for name, one in made.items() for what in complaints(one)] == []


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("measure[1]/note[last()]", "music21: bar 1 is"),
        ("measure[1]/note[last()]", "partitura: bar 1 is"),
        ("measure[1]/note[2]", "music21: a tuplet of bar 1 is not complete"),
        ("measure[2]", "music21: 3 bars for 4"),
        ("measure[2]", "partitura: 3 bars for 4"),
    ],
)
def test_what_is_taken_out_is_told(path: str, told: str) -> None:
    """The readers see what they are there for."""
    whole = vary(test_rounding.passage(252, 84, 84, 84), "separate")
    assert complaints(whole) == []
    tree = whole.tree()
    (gone,) = tree.xpath(f"part/{path}")
    gone.getparent().remove(gone)
    assert any(one.startswith(told) for one in complaints(replace(whole, xml=etree.tostring(tree))))


@pytest.mark.corpus
def test_variants_of_the_corpus() -> None:
    """Corpus tier: a passage of every part for strings."""
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    for path, part in string_parts():
        for source in cuts(path, part, 1, seed=5):
            wrong += read_all(source, counts)
    print(counts)  # noqa: T201
    assert wrong == []
    assert counts["made"] > 5000
