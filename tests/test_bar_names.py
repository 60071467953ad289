"""One way of naming bars in every message: "bar 5", and with its place where the number comes twice."""

from __future__ import annotations

import pytest

from excerpts import vary
from excerpts.errors import VariantError
from excerpts.excerpt import Excerpt, Origin, bar_name
from excerpts.score import score_from_bytes
from tests.music import bars_of


def _excerpt() -> Excerpt:
    """Bars 1, 2, 2, one without a number, and 3."""
    data = bars_of(*["C4:4"] * 5, numbers=["1", "2", "2", "", "3"])
    return score_from_bytes(data, "loom.musicxml").part().passage("@1-@5").cut(context=0)


def test_a_bar_whose_number_comes_twice_or_is_missing_has_its_place() -> None:
    bars = _excerpt().bars
    named = [bar_name(bars, index) for index in range(len(bars))]
    assert named == ["bar 1", "bar 2 (@2)", "bar 2 (@3)", "bar @4", "bar 3"]


def test_a_message_names_file_and_bars() -> None:
    with pytest.raises(VariantError) as caught:
        vary(_excerpt(), "long-short")
    assert str(caught.value).startswith("loom.musicxml, bars @1-@5: ")
    assert "bars 1, 2 (@2), 2 (@3), @4, 3: too few notes" in str(caught.value)


@pytest.mark.parametrize(
    ("origin", "where"),
    [
        (Origin(score="loom.musicxml", address="5"), "loom.musicxml, bar 5"),
        (Origin(score="loom.musicxml", address="5–6"), "loom.musicxml, bars 5–6"),
        (Origin(address="5"), "bar 5"),
        (Origin(), ""),
    ],
)
def test_where_a_passage_is(origin: Origin, where: str) -> None:
    assert origin.where() == where
