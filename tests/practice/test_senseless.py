"""Bars whose time makes no sense have no variants, and are refused at once with the bar told."""

from __future__ import annotations

import pytest

from excerpts.errors import VariantError
from excerpts.practice import vary
from tests.music import DIVISIONS, bars_of
from tests.score.cutting import cut_invalid


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (f"<duration>{4 * DIVISIONS}<", "<duration>50000000<", "bar 2 is 2.08333e+06 quarter notes long"),
        (
            f"<duration>{DIVISIONS}<",
            "<duration>0.000001<",
            "bar 2 are counted in 24,000,000 parts of a quarter note",
        ),
    ],
)
def test_a_bar_of_no_sensible_length_has_no_variant(old: str, new: str, told: str) -> None:
    data = bars_of("C5:4", "C5:1 D5:1 E5:2" if "0.0" in new else "C5:4", "C5:4")
    head, bar, tail = data.decode().partition('<measure number="2">')
    excerpt = cut_invalid((head + bar + tail.replace(old, new, 1)).encode(), "2", 1)
    with pytest.raises(VariantError) as error:
        vary(excerpt, "long-short")
    assert told in str(error.value)
    assert "wrong with its durations" in str(error.value)
    assert vary(excerpt, "as-written").boxes


def test_a_cadenza_in_one_bar_is_no_nonsense() -> None:
    excerpt = cut_invalid(bars_of("C5:4", " ".join(["C5:1/2 D5:1/2"] * 150), "C5:4"), "2", 1)
    assert vary(excerpt, "separate").boxes
