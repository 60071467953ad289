"""Inputs that once broke something, and the seeds: none of them raises anything but an error for a teacher."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.targets import TARGETS, broken

CASES = sorted((Path(__file__).parent / "cases").glob("*/*"))


def test_there_are_cases_of_targets_that_there_are() -> None:
    assert len(CASES) > 1
    assert {case.parent.name for case in CASES} <= set(TARGETS)


@pytest.mark.parametrize("case", CASES, ids=[f"{case.parent.name}-{case.name}" for case in CASES])
def test_what_once_broke_something(case: Path) -> None:
    TARGETS[case.parent.name].run(case.read_bytes())


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.slow if name == "practised" else ()) for name in TARGETS]
)
def test_the_seeds(name: str) -> None:
    seeds = list(TARGETS[name].seeds())
    assert len(seeds) > 3
    for seed in seeds:
        TARGETS[name].run(seed)


@pytest.mark.parametrize("name", [name for name, target in TARGETS.items() if target.xml])
def test_a_few_broken_scores(name: str) -> None:
    """Always the same: enough to see that reading and cutting still answer; practising takes longer."""
    seeds = list(TARGETS[name].seeds())
    for number in range(40 if name == "practised" else 150):
        TARGETS[name].run(broken(seeds[number % len(seeds)], number, 20_000))
