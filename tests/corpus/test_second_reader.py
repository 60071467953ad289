"""The second reader sees what is missing or changed: each thing that is taken out of a cut is named (default tier)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from lxml import etree

from excerpts.excerpt import Excerpt
from excerpts.score import score_from_bytes
from tests.corpus.compare import Source, SourcePart
from tests.corpus.reading import document
from tests.score.random_scores import FEATURES, make_score

FIRST, LAST = 2, 5
LEFT_OUT = {"late directions", "closing graces", "graces elsewhere", "half brackets"}


@cache
def case() -> tuple[SourcePart, Excerpt]:
    """A cut out of a score that has everything."""
    data = make_score(46, 8, frozenset(FEATURES) - LEFT_OUT)
    excerpt = score_from_bytes(data, "all").part("#1").passage(f"@{FIRST + 1}-@{LAST + 1}").cut(0)
    return Source(document(data)).part(0), excerpt


def found_wrong(change: Callable[[etree._Element], None]) -> list[str]:
    source, excerpt = case()
    tree = excerpt.tree()
    change(tree)
    return source.differences(replace(excerpt, xml=etree.tostring(tree)), FIRST, LAST)


def test_the_cut_itself_is_right() -> None:
    assert found_wrong(lambda tree: None) == []


@pytest.mark.parametrize(
    "path",
    [
        "key", "time", "clef", "staves", "transpose", "divisions", "note", "note/chord", "note/tie", "backup",
        "note/voice", "note/type", "note/dot", "note/accidental", "note/time-modification", "note/lyric", "slur",
        "wavy-line", "glissando", "tuplet", "fingering", "up-bow", "staccato", "wedge", "octave-shift", "pedal",
        "dashes", "dynamics", "words", "harmony", "direction/sound", "metronome", "extend", "alter", "barline",
    ],
)  # fmt: skip
def test_what_is_taken_out_is_named(path: str) -> None:
    def take_out(tree: etree._Element) -> None:
        element = tree.find(f".//{path}")
        assert element is not None, path
        parent = element.getparent()
        assert parent is not None
        parent.remove(element)

    assert found_wrong(take_out) != []


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("note/duration", "7"), ("note/pitch/step", "G"), ("note/pitch/octave", "7"), ("note/type", "256th"),
        ("note/voice", "9"), ("key/fifths", "7"), ("clef/line", "5"), ("backup/duration", "1"),
        ("words", "never"), ("lyric/text", "no"), ("beats", "9"), ("divisions", "7"),
    ],
)  # fmt: skip
def test_what_is_changed_is_named(path: str, text: str) -> None:
    def change(tree: etree._Element) -> None:
        element = tree.find(f".//{path}")
        assert element is not None, path
        element.text = text

    assert found_wrong(change) != []


def test_a_bar_number_a_missing_bar_and_an_open_end_are_seen() -> None:
    source, excerpt = case()
    assert found_wrong(lambda tree: tree.find(".//measure").set("number", "99")) != []  # type: ignore[union-attr]
    assert found_wrong(lambda tree: tree.find("part").remove(tree.find(".//measure"))) != []  # type: ignore
    assert excerpt.open_ends != ()
    assert source.differences(replace(excerpt, open_ends=()), FIRST, LAST) != []
    assert source.differences(replace(excerpt, tempo=None), FIRST, LAST) != []
