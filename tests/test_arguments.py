"""The functions of the package given values of other kinds: they work, or say what would be right."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import excerpts
from excerpts import InputError, open_score
from excerpts.score import Score, score_from_bytes
from tests.music import FIRST, bars_of, part, score

API: Any = excerpts
"""The package as somebody without a type checker uses it."""


def pair() -> Score:
    parts = [
        part([f"{FIRST} {note}:4", f"{note}:4"], part_id=name) for note, name in (("C5", "P1"), ("C3", "P2"))
    ]
    return score_from_bytes(score(*parts, names=("Violin", "Cello")), "two.musicxml")


@pytest.fixture
def alone() -> Score:
    return score_from_bytes(bars_of(*["C5:1 D5:1 E5:1 F5:1"] * 5), "alone.musicxml")


def test_a_number_names_a_part_and_a_bar() -> None:
    assert pair().part(2).info.name == "Cello"
    assert pair().part(2).passage(2).cut().origin.address == "2"
    with pytest.raises(InputError, match=r"there is no part #3\. Name one of: #1 Violin, #2 Cello"):
        pair().part(3)


def test_a_score_with_one_part_has_passages(alone: Score) -> None:
    assert alone.passage("2-3").cut(context=0).xml == alone.part().passage("2-3").cut(context=0).xml
    with pytest.raises(InputError, match=r"several parts\. Name one of: #1 Violin, #2 Cello"):
        pair().passage("1")


def test_one_mark_stands_for_a_list_of_it(alone: Score) -> None:
    one, several = (alone.passage("2").cut(marks=marks) for marks in ("2:1 finger 3", ["2:1 finger 3"]))
    assert one.xml == several.xml
    assert b"<fingering" in one.xml


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda s: s.part(2.5), 'a part is a text, and 2.5 is not one. Write it like "Cello" or "#2".'),
        (lambda s: s.part(True), "a part is a text, and True is not one."),
        (lambda s: s.passage(["1", "2"]), "an address is a text, and ['1', '2'] is not one."),
        (lambda s: s.passage(None), "an address is a text, and None is not one."),
        (lambda s: s.passage("1", pupil_bars="2"), "pupil_bars is a whole number"),
        (lambda s: s.passage("1").cut("2"), "context is a whole number, 0 or more, and '2' is not one."),
        (lambda s: s.passage("1").cut(-1), "context is a whole number, 0 or more, and -1 is not one."),
        (lambda s: s.passage("1").cut(marks=3), "a mark is a text in a list, and 3 is none."),
        (lambda s: API.vary(s.passage("1").cut(), ["separate", "slow"]), "Stack several with + in one text"),
        (
            lambda s: API.vary(s.passage("1").cut(), None),
            "a variant is a text, and this is of type NoneType.",
        ),
        (lambda s: API.vary(s.passage("1"), "slow"), "this is of type Passage. Cut one first"),
        (
            lambda s: API.vary(s.passage("1").cut(), "separate", staff="1"),
            "staff is a whole number, 1 or more",
        ),
        (lambda s: API.vary(s.passage("1").cut(), "separate", voice=1.5), "a voice is a text, and 1.5"),
        (lambda _: API.open_score(3), "a score is opened by its path, not by a value of type int."),
        (lambda _: API.open_score(b"a.xml"), "a score is opened by its path, not by a value of type bytes."),
        (lambda _: API.from_abc(["D2"]), "ABC is a text, and this is of type list."),
        (lambda _: API.warmup(4), "'4' is not a key."),
        (lambda _: API.warmup(["D", "G"]), "a key is a text, and ['D', 'G'] is not one."),
        (lambda _: API.warmup("D", octaves="2"), "octaves is a whole number, 1 or more, and '2' is not one."),
        (lambda _: API.warmup("D", instrument=None), "an instrument is a text, and None is not one."),
        (lambda _: API.warmup("D", pattern=["scale"]), "a pattern is a text, and ['scale'] is not one."),
    ],
)
def test_what_is_of_another_kind_is_told(alone: Score, call: Callable[[Any], object], message: str) -> None:
    with pytest.raises(InputError) as caught:
        call(alone)
    assert message in str(caught.value)


def test_a_path_may_be_a_text(tmp_path: Path) -> None:
    path = tmp_path / "alone.musicxml"
    path.write_bytes(bars_of("C5:4"))
    assert open_score(str(path)).passage(1).cut().xml == open_score(path).passage(1).cut().xml
