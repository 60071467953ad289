"""Every MusicXML file of music21's corpus, every part, cut at several places and held to account.

Outside checks: the W3C's MusicXML 4.0 schema; a second reader of MusicXML that shares no code with the cutter
(`tests.corpus.reading`); verovio's log. Corpus tier: all files, five ranges of each part. Default tier: twenty
files of different kinds.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from multiprocessing import get_context
from pathlib import Path

import pytest

from tests.corpus.check import Result, check_file, scores

RANGES = 5
ENGRAVED = 2
"""Of the five ranges of a part, how many are also drawn by verovio: to draw all of them would take twice as long."""

SAMPLE = (
    "bach/bwv1.6.mxl",
    "beach/prayer_of_a_tired_child.musicxml",
    "ciconia/quod_jactatur.xml",
    "corelli/opus3no1/1grave.xml",
    "demos/drum_sample.xml",
    "demos/two-parts.xml",
    "haydn/opus1no1/movement2.mxl",
    "joplin/maple_leaf_rag.mxl",
    "liliuokalani/aloha_oe.mxl",
    "monteverdi/madrigal.3.1.mxl",
    "mozart/k155/movement3.mxl",
    "mozart/k80/movement2.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/polonaise_op1n1.mxl",
    "schumann_robert/dichterliebe_no2.xml",
    "demos/nested_tuplet_finale_test2.xml",
    "trecento/PMFC_06_8-In Verde Prato.xml",
    "verdi/laDonnaEMobile.mxl",
    "weber/concertino_clarinet.mxl",
)


def exceptions() -> dict[str, str]:
    """Files that are left out, each with the reason."""
    path = Path(__file__).parent / "exceptions.toml"
    found: dict[str, str] = tomllib.loads(path.read_text(encoding="utf-8")).get("files", {})
    return found


def _check(name: str) -> Result:
    return check_file(name, RANGES, ENGRAVED)


def test_the_exceptions_are_files_of_the_corpus_and_say_why() -> None:
    assert set(exceptions()) <= set(scores())
    assert all(len(reason.split()) > 5 for reason in exceptions().values())


@pytest.mark.parametrize("name", SAMPLE)
def test_a_sample_of_cuts_is_right(name: str) -> None:
    result = check_file(name, 1, 1, most_parts=2)
    assert result.counts["cuts"] > 0
    assert result.wrong == []


@pytest.mark.corpus
def test_all_cuts_of_the_corpus_are_right(capsys: pytest.CaptureFixture[str]) -> None:
    left_out = exceptions()
    names = [name for name in scores() if name not in left_out]
    assert len(names) + len(left_out) == 654
    counts: Counter[str] = Counter({"files left out": len(left_out)})
    wrong: list[str] = []
    with get_context("spawn").Pool(2, maxtasksperchild=100) as pool:
        for result in pool.imap_unordered(_check, names, chunksize=4):
            counts += result.counts
            wrong += result.wrong
    with capsys.disabled():
        print()  # noqa: T201
        for what, count in sorted(counts.items()):
            print(f"{count:7} {what}")  # noqa: T201
    assert counts["cuts"] >= RANGES * counts["parts"]
    assert counts["right"] == counts["cuts"], wrong[:50]
    assert wrong == []
