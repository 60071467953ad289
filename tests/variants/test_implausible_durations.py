"""Bars whose time makes no sense have no variants, and are refused at once with the bar told."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from excerpts.errors import VariantError
from excerpts.musicxml.metre import metre_of_pairs
from excerpts.notes.spelling import VALUES, split_note, split_rest
from excerpts.variants import vary
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


@pytest.mark.slow
def test_a_note_over_many_bars_is_tied_at_each_barline() -> None:
    """Every way to part it is not tried: it would take minutes."""
    metre = metre_of_pairs((((4,), 4),))
    parts = split_note(Fraction(1), Fraction(400), metre)
    bars = [(Fraction(low), Fraction(low + 4)) for low in range(0, 8000, 4)]
    assert parts == [(Fraction(1), Fraction(4)), *bars[1:100]]
    assert split_rest(Fraction(0), Fraction(8000), metre) == bars


def test_a_note_over_many_beats_fills_its_time() -> None:
    parts = split_note(Fraction(1), Fraction(150), metre_of_pairs((((199,), 4),)))
    assert parts[0][0] == 1
    assert parts[-1][1] == 150
    assert all(one[1] == two[0] for one, two in pairwise(parts))
    assert all(end - start in VALUES for start, end in parts)


def test_a_voice_that_sounds_over_itself_has_no_variant() -> None:
    text = bars_of("C5:4", "C5:1 D5:1 E5:2", "C5:4").decode()
    head, measure, bar = text.partition('<measure number="2">')
    first, second, rest = bar.split("</note>", 2)
    back = f"<backup><duration>{DIVISIONS}</duration></backup>"
    wrong = f"{head}{measure}{first}</note>{second}</note>{back}{rest}"
    excerpt = cut_invalid(wrong.encode(), "1-2", 0)
    with pytest.raises(
        VariantError, match="notes of one voice sound over each other in bar 2, and are no chord"
    ):
        vary(excerpt, "add-a-bar")
