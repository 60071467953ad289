"""What a fault brings: variants that there are, that are meant for it, and that the music can bear (default tier)."""

from __future__ import annotations

import tomllib
from typing import get_args

import pytest

from excerpts.errors import VariantError
from excerpts.practice import parse_variant, vary
from excerpts.week import WeekFile, box_variants
from excerpts.week.advice import BY_FAULT
from excerpts.week.items import BoxItem, FaultName
from tests.practice.music import passage

HEAD = """format = 1
[player]
name = "Ada"
instrument = "violin"
level = "upper"
[week]
start = 2026-11-30
minutes = {mon = 30}
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
    source = passage("4/4", "C4/3/4 D4/1/4 E4/3/4 F4/1/4 G4/2", "C4/4", box=(0, 0))

    def fits(name: str) -> bool:
        try:
            vary(source, name)
        except VariantError:
            return False
        return True

    assert box_variants(box('["uneven"]'), "upper", fits) == ()
    assert box_variants(box('["rhythm"]'), "upper", fits) == BY_FAULT["rhythm"]
    assert box_variants(box('["speed", "rhythm"]'), "middle", fits) == (
        "count-aloud",
        "subdivide",
        "half-and-full",
    )


def test_the_teachers_own_list_stays_whether_it_fits_or_not() -> None:
    own = box('["uneven"]', 'variants = ["burst:4"]\n')
    assert box_variants(own, "first", lambda name: False) == ("burst:4",)
