"""What bars are called: by printed numbers, a pick-up by its name, never by a number that stands in files only."""

from __future__ import annotations

import pytest

from excerpts.score import score_from_bytes
from excerpts.score.numbering import Called, called
from tests.music import FIRST, part, score

BARS = (
    (f"{FIRST} A4:1", '0" implicit="yes'),
    ("D5:4", "1"),
    ("D5:3", "2"),
    ("E5:1", 'X1" implicit="yes'),
    ("D5:4", "3"),
    ("D5:3", "4"),
    ("r:1", "X2"),
)


def music(*bars: tuple[str, str]) -> bytes:
    return score(part([text for text, _ in bars], [number for _, number in bars]))


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("1-3", Called("1", "3")),
        ("0-3", Called("1", "3", "opening")),
        ("0", Called("1", "", "opening")),
        ("@4", Called("3", "", "inner")),
        ("@4-@5", Called("3", "3", "inner")),
        ("2-X1", Called("2", "2")),
        ("3-@7", Called("3", "4")),
        ("@7", Called("4", "4")),
    ],
)
def test_bars_are_called_by_their_printed_numbers(address: str, said: Called) -> None:
    passage = score_from_bytes(music(*BARS), "x").part("#1").passage(address)
    assert called(passage.part.bars, passage.span) == said
    origin = passage.cut().origin
    assert (origin.first_bar, origin.last_bar, origin.pickup) == (said.first, said.last, said.pickup)


def test_the_pupils_own_numbers_are_said() -> None:
    passage = score_from_bytes(music(*BARS), "x").part("#1").passage("@4-@6", pupil_bars=10)
    assert called(passage.part.bars, passage.span, 10) == Called("13", "14", "inner")


def test_a_full_bar_0_is_no_pickup() -> None:
    passage = score_from_bytes(music((f"{FIRST} A4:4", "0"), ("D5:4", "1")), "x").part("#1").passage("0-1")
    assert called(passage.part.bars, passage.span) == Called("0", "1")


def test_bars_without_any_number_are_counted() -> None:
    passage = score_from_bytes(music((f"{FIRST} A4:4", ""), ("D5:4", "")), "x").part("#1").passage("@2")
    assert called(passage.part.bars, passage.span) == Called("2", "2")
