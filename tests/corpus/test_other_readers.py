"""music21 and partitura read every cut of a sample of the corpus as it is told; the W3C's schema finds it valid.

Default tier: a few files; corpus tier: every fourth file, all parts, with edges inside what spans barlines.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from lxml import etree

from excerpts.score import open_score, score_from_bytes
from tests.corpus.check import corpus, messages, scores
from tests.corpus.compare import Source
from tests.corpus.other_readers import differences
from tests.corpus.ranges import choose
from tests.corpus.reading import documents
from tests.corpus.test_corpus import exceptions
from tests.score.random_scores import make_score

FEW = (
    "demos/nested_tuplet_finale_test2.xml",
    "joplin/maple_leaf_rag.mxl",
    "mozart/k80/movement2.mxl",
    "schumann_clara/polonaise_op1n1.mxl",
    "schubert/Lindenbaum.xml",
    "trecento/PMFC_06_8-In Verde Prato.xml",
)
EVERY = 4
RANGES = 2


def read_cuts(name: str, ranges: int, most_parts: int = 100) -> tuple[Counter[str], list[str]]:
    """Cut some ranges of every part of a file and let the others read them; gives the counts and what is wrong."""
    path = corpus() / name
    source, opened = Source(documents(path)), open_score(path)
    source.root.set("version", "4.0")
    known = messages(etree.tostring(source.root))
    counts: Counter[str] = Counter(files=1)
    wrong: list[str] = []
    for index in range(min(len(source.parts), most_parts)):
        part = source.part(index)
        for wanted in choose(part, f"{name} #{index + 1} read", ranges):
            address = f"@{wanted.first + 1}-@{wanted.last + 1}"
            excerpt = opened.part(f"#{index + 1}").passage(address).cut(wanted.context)
            counts["cuts"] += 1
            found = differences(excerpt, counts)
            found += [f"schema: {message}" for message in sorted(messages(excerpt.xml) - known)]
            wrong += [f"{name} #{index + 1} {address} context {wanted.context}: {what}" for what in found]
    return counts, wrong


def tell(counts: Counter[str], capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print()  # noqa: T201
        for what, count in sorted(counts.items()):
            print(f"{count:7} {what}")  # noqa: T201


@pytest.mark.slow
def test_a_few_cuts_are_read_as_they_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    counts: Counter[str] = Counter()
    for name in FEW:
        found, wrong = read_cuts(name, 1, most_parts=2)
        counts += found
        assert wrong == []
    tell(counts, capsys)
    assert counts["tuplets read by music21"] > 0


def test_a_cut_that_tells_a_wrong_length_or_lacks_half_a_tuplet_is_found() -> None:
    data = make_score(1, 4, frozenset({"triplets"}))
    excerpt = score_from_bytes(data, "random").part("#1").passage("@1-@4").cut(0)
    assert b'<tuplet type="stop"' in excerpt.xml
    assert differences(excerpt, Counter()) == []
    longer = tuple(replace(bar, length=bar.length + 1) for bar in excerpt.bars)
    assert len(differences(replace(excerpt, bars=longer), Counter())) >= len(excerpt.bars)
    half = excerpt.xml.replace(b'<tuplet type="stop"/>', b"", 1)
    assert any(one.startswith("music21: voice") for one in differences(replace(excerpt, xml=half), Counter()))


@pytest.mark.corpus
def test_every_cut_of_a_sample_is_read_as_it_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    for name in [name for name in scores() if name not in exceptions()][::EVERY]:
        found, faults = read_cuts(name, RANGES)
        counts += found
        wrong += faults
    tell(counts, capsys)
    assert counts["cuts"] > 1000
    assert counts["cuts that partitura cannot read"] <= counts["cuts"] // 100
    assert wrong == []
