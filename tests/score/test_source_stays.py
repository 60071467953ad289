"""A score is read and never changed: its tree has the same bytes after cutting as before (default tier).

Held to random scores with faults that a cut mends; `tests.corpus` holds every file of the corpus to it.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from excerpts.score import score_from_bytes
from excerpts.score.extract_voice import extract_voice
from excerpts.score.whole import whole_passage
from tests.score.random_scores import FEATURES, make_score

Fault = Callable[[etree._Element, random.Random], None]


def _some(tree: etree._Element, path: str, chance: random.Random) -> etree._Element:
    return chance.choice(tree.findall(f".//{path}"))


def _order(tree: etree._Element, chance: random.Random) -> None:
    note = _some(tree, "note", chance)
    note.append(note[0])


def _no_number(tree: etree._Element, chance: random.Random) -> None:
    _some(tree, "note/duration", chance).text = "long"


def _no_length(tree: etree._Element, chance: random.Random) -> None:
    _some(tree, "note/duration", chance).text = "0"


def _no_divisions(tree: etree._Element, chance: random.Random) -> None:
    for attributes in tree.iter("attributes"):
        for divisions in attributes.findall("divisions"):
            attributes.remove(divisions)


def _staves(tree: etree._Element, chance: random.Random) -> None:
    first = tree.find(".//attributes")
    assert first is not None
    etree.SubElement(first, "staves").text = "none"


def _chord_on_a_rest(tree: etree._Element, chance: random.Random) -> None:
    note = _some(tree, "note", chance)
    rest = etree.fromstring("<note><chord/><rest/><duration>1</duration></note>")
    note.addnext(rest)


def _far_back(tree: etree._Element, chance: random.Random) -> None:
    _some(tree, "note", chance).addnext(etree.fromstring("<backup><duration>900</duration></backup>"))


def _nowhere(tree: etree._Element, chance: random.Random) -> None:
    """A move of no length is left out without a word."""
    _some(tree, "note", chance).addnext(etree.fromstring("<forward><duration>0</duration></forward>"))


def _same_again(tree: etree._Element, chance: random.Random) -> None:
    sign = "<measure-repeat type='start'>1</measure-repeat>"
    style = etree.fromstring(f"<attributes><measure-style>{sign}</measure-style></attributes>")
    _some(tree, "measure", chance).insert(0, style)


FAULTS: dict[str, Fault] = {
    "note": _order,
    "duration": _no_number,
    "no length": _no_length,
    "divisions": _no_divisions,
    "staves": _staves,
    "chord": _chord_on_a_rest,
    "backup": _far_back,
    "move": _nowhere,
    "bar repeat": _same_again,
}


def _score(seed: int, bars: int, features: frozenset[str], faults: frozenset[str]) -> bytes:
    tree = etree.fromstring(make_score(seed, bars, features))
    for name in sorted(faults):
        FAULTS[name](tree, random.Random(seed))
    return etree.tostring(tree)


@settings(max_examples=40, deadline=None)
@given(
    features=st.frozensets(st.sampled_from(FEATURES), max_size=8),
    faults=st.frozensets(st.sampled_from(sorted(FAULTS)), max_size=4),
    bars=st.integers(2, 5),
    seed=st.integers(0, 10_000),
    at=st.integers(0, 4),
)
def test_a_cut_changes_nothing_in_the_score(
    features: frozenset[str], faults: frozenset[str], bars: int, seed: int, at: int
) -> None:
    data = _score(seed, bars, features, faults)
    score = score_from_bytes(data, "random")
    before = etree.tostring(score.root)
    place = f"@{min(at, bars - 1) + 1}"
    part = score.part("#1")
    first = part.passage(place).cut(1)
    part.passage(f"@1-@{bars}").cut(0)
    whole_passage(score, place).cut(0)
    voice = extract_voice(part, voice="1").passage(place).cut(0)
    assert voice.bars
    assert etree.tostring(score.root) == before
    assert part.passage(place).cut(1) == first
    assert score_from_bytes(data, "random").part("#1").passage(place).cut(1).xml == first.xml


@pytest.mark.parametrize("name", [name for name in FAULTS if name != "move"])
def test_each_of_these_faults_is_mended_and_told_in_the_cut(name: str) -> None:
    score = score_from_bytes(_score(3, 4, frozenset(), frozenset({name})), "random")
    before = etree.tostring(score.root)
    report = score.part("#1").passage("@1-@4").cut(0).report
    assert any(line.action in ("repaired", "warning") for line in report)
    assert etree.tostring(score.root) == before
