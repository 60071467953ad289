"""Time signatures: the beats that addresses count, and those that notes are split and beamed by."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from excerpts.musicxml import time_signature
from excerpts.notes.metre import read_metre
from excerpts.score.metre import NO_METRE, metre_of

F = Fraction


def time(text: str) -> etree._Element:
    """A `<time>` of pairs: "3+2/8 2/4"."""
    pairs = "".join(
        "<beats>{}</beats><beat-type>{}</beat-type>".format(*pair.split("/")) for pair in text.split()
    )
    return etree.fromstring(f"<time>{pairs}</time>")


@pytest.mark.parametrize(
    ("text", "counted", "grouped"),
    [
        ("4/4", (1, 1, 1, 1), (1, 1, 1, 1)),
        ("6/8", (F(3, 2), F(3, 2)), (F(3, 2), F(3, 2))),
        ("3/8", (F(1, 2), F(1, 2), F(1, 2)), (F(3, 2),)),
        ("3+2/8", (F(3, 2), 1), (F(3, 2), 1)),
        ("3/4 2/4", (1, 1, 1, 1, 1), (1, 1, 1, 1, 1)),
        ("3/4 3/8", (1, 1, 1, F(1, 2), F(1, 2), F(1, 2)), (1, 1, 1, F(3, 2))),
    ],
)
def test_beats(text: str, counted: tuple[Fraction, ...], grouped: tuple[Fraction, ...]) -> None:
    """Common practice, no source."""
    read = read_metre(time(text))
    assert read is not None
    assert metre_of(time(text)).beats == counted
    assert read.beats == grouped
    assert sum(counted) == sum(grouped)


@pytest.mark.parametrize("text", ["0/4", "4/0", "-3/4", "x/4", "4/x", "3+/4", "1000000000/4", "4/-4"])
def test_a_signature_that_makes_no_sense_is_none(text: str) -> None:
    assert time_signature(time(text)) == ()
    assert metre_of(time(text)) == NO_METRE
    assert read_metre(time(text)) is None


def test_senza_misura_is_no_metre() -> None:
    free = etree.fromstring("<time><senza-misura/></time>")
    assert metre_of(free) == NO_METRE
    assert read_metre(free) is None
    assert metre_of(None) == NO_METRE
