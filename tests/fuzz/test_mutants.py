"""Mutants that once broke something, by their numbers; the whole run is by hand (`tests.fuzz.mutants`)."""

from __future__ import annotations

import pytest

from tests.fuzz.mutants import mutant, try_mutant


@pytest.mark.parametrize(
    "number",
    [
        15240,  # a key of "1/3" sharps went as far as the spoken description
        8120,  # a time signature doubled into a clef: what the schema does not know stood among the attributes
    ],
)
def test_a_mutant_that_once_broke_something(number: int) -> None:
    assert try_mutant(number) in ("cut", "engraved")


@pytest.mark.parametrize(
    "number",
    [
        20334,  # a bar of 50 million quarter notes in a rhythm
        20407,  # a tuplet of nine in the time of none
        21755,  # a tuplet of notes shorter than any sign
        20448,  # notes counted in millions of parts of a quarter note
    ],
)
def test_a_mutant_that_once_broke_a_variant(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.fuzz.mutants._ENGRAVED", 1)
    assert try_mutant(number) == "engraved"


def test_a_mutant_is_the_same_again_and_is_not_its_source() -> None:
    path, data = mutant(7)
    assert mutant(7) == (path, data)
    assert mutant(8)[1] != data
