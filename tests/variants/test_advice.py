"""What a fault brings: variants that there are, that are meant for it, and that the music can bear (default tier)."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import get_args

import pytest

from excerpts.errors import VariantError
from excerpts.variants import parse_variant, tempo_steps, vary
from excerpts.week import box_variants
from excerpts.week.advice import BY_FAULT
from excerpts.weekfile.item_values import FaultName
from excerpts.weekfile.items import BoxItem
from excerpts.weekfile.model import WeekFile
from excerpts.workbook import build_workbook
from tests.heads import head
from tests.pdf_text import text_of
from tests.variants.music import passage
from tests.workbook.weeks import week

HEAD = f"""{head("upper", minutes="{mon = 30}")}\
[[piece]]
id = "p"
title = "P"
composer = "Q"
"""


def box(why: str, more: str = "") -> BoxItem:
    text = HEAD + f'[[box]]\nid = 1\nabc = "C"\nwhy = {why}\n{more}'
    return WeekFile.model_validate(tomllib.loads(text)).boxes[0]


@pytest.mark.parametrize("fault", get_args(FaultName))
def test_every_fault_has_variants_that_are_meant_for_it(fault: FaultName) -> None:
    names = BY_FAULT[fault]
    assert len(names) >= 4
    assert len(set(names)) == len(names)
    for name in names:
        assert all(fault in step.variant.info.for_faults for step in parse_variant(name)), name


def test_no_two_faults_are_answered_alike() -> None:
    assert len(set(BY_FAULT.values())) == len(get_args(FaultName))


def test_what_does_not_fit_gives_way_to_the_next_choice() -> None:
    source = passage("4/4", "C4/3/4 D4/1/4 r/1/2 E4/1/2 F4/1 G4/1", "C4/4", box=(0, 0))

    def fits(name: str) -> bool:
        try:
            vary(source, name)
        except VariantError:
            return False
        return True

    assert box_variants(box('["uneven"]'), "upper", fits, fits) == ()
    assert box_variants(box('["rhythm"]'), "upper", fits, fits) == BY_FAULT["rhythm"]
    assert box_variants(box('["speed", "rhythm"]'), "middle", fits, fits) == (
        "count-aloud",
        "subdivide",
        "half-and-full",
    )


def test_what_cannot_be_made_of_the_teachers_own_list_gives_way_too() -> None:
    own = box('["uneven"]', 'variants = ["burst:4", "accent"]\n')
    assert box_variants(own, "first") == ("burst:4", "accent")
    assert box_variants(own, "first", lambda name: name != "burst:4", lambda name: True) == (
        "long-short",
        "accent",
    )
    assert box_variants(own, "first", lambda name: False, lambda name: False) == ()


WEEK = HEAD.replace(
    'composer = "Q"',
    """composer = "Q"
score = "river.musicxml"
[[box]]
id = "b"
piece = "p"
bars = "2-3"
why = ["speed", "rhythm"]
target = "crotchet = 92"
""",
)


def printed(tmp_path: Path, more: str = "") -> str:
    return text_of(build_workbook(week(tmp_path, WEEK + more)).pdf)


def test_the_page_has_what_fits_and_says_what_is_a_word_alone(tmp_path: Path) -> None:
    """Even quavers: bursts and counting fit, what is for dotted figures does not and is not spoken of."""
    text = printed(tmp_path)
    assert "Bursts of two" in text
    assert "Count aloud: Clap the rhythm" in text
    assert "Evened" not in text
    assert "practice, no source" not in text


@pytest.mark.slow
def test_the_file_says_how_many_steps_and_that_values_are_doubled(tmp_path: Path) -> None:
    """Half of 92 is 46, and no step is a fifth over the one before; three steps that are asked for lead to 92 too."""
    six = " ".join(str(tempo.number) for tempo in tempo_steps(46, 92, widest=Fraction(6, 5)))
    three = " ".join(str(tempo.number) for tempo in tempo_steps(46, 92, most=3))
    assert (len(six.split()), len(three.split())) == (6, 3)
    plain, fewer = printed(tmp_path), printed(tmp_path, "[plan]\nsteps = 3\ndouble_values = true\n")
    assert f" {six} " in plain
    assert f" {three} " in fewer
    assert six not in fewer
