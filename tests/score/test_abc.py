"""Bars typed as ABC (the open text notation, https://abcnotation.com/wiki/abc:standard, from memory)."""

from __future__ import annotations

import pytest

from excerpts.errors import ScoreError
from excerpts.score import from_abc


def labels(text: str) -> tuple[str, ...]:
    return from_abc(text).part().bars.labels


@pytest.mark.parametrize("bars", [2, 3, 4, 7])
def test_full_bars_are_numbered_from_one(bars: int) -> None:
    text = "M:4/4\nL:1/4\nK:D\n" + " | ".join(["D F A d"] * bars) + " |]"
    assert labels(text) == tuple(str(n) for n in range(1, bars + 1))


def test_a_pick_up_is_bar_0_and_shows_no_number() -> None:
    part = from_abc("M:4/4\nL:1/4\nK:D\nA | D F A d | d4 | d3 |]").part()
    assert part.bars.labels[:2] == ("0", "1")
    assert part.bars.measures[0].get("implicit") == "yes"


def test_a_header_is_put_in_where_it_is_missing() -> None:
    part = from_abc("D2 F2 A2 d2").part()
    assert [note.findtext("type") for note in part.bars.measures[0].iter("note")] == ["quarter"] * 4


@pytest.mark.parametrize("text", ["", "[[[", "K:D\n", "D" * 5_000])
def test_what_is_not_music_is_refused(text: str) -> None:
    with pytest.raises(ScoreError):
        from_abc(text)
