"""Tuplets in print: their time, where nothing stands over them, and their number (default tier)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from excerpts.engrave import Style, engrave
from excerpts.engrave.prepare import prepare
from excerpts.score import score_from_bytes
from tests.music import bar, bars_of
from tests.score.test_tuplet_numbers import HIDDEN, SHOWN, TRIPLETS, group

LOW = "<backup><duration>96</duration></backup>" + bar("C4:1 D4:1 E4:1 F4:1").replace("<voice>1", "<voice>2")


@pytest.mark.parametrize("later", ["", HIDDEN])
def test_unmarked_triplets_stand_over_the_notes_that_they_sound_with(later: str) -> None:
    """Four triplets over four crotchets: the first of each has the x of its crotchet."""
    upper = group(TRIPLETS, SHOWN) + 3 * group(TRIPLETS, later)
    excerpt = score_from_bytes(bars_of(upper + LOW), "test").part().passage("1").cut(0)
    engraving = engrave(excerpt, Style())
    assert engraving.missing == ()
    (system,) = engraving.systems
    heads = [c.ink for c in system.drawing.inks if c.ink.owner.kind == "notehead"]
    left = {ink.owner.note: ink.rect.left for ink in heads}
    for beat in range(4):
        assert left[f"note{3 * beat}"] == pytest.approx(left[f"note{12 + beat}"], abs=0.2)
    assert sum(c.ink.owner.kind == "tupletNum" for c in system.drawing.inks) == 1


def test_verovio_reckons_the_time_of_unmarked_groups() -> None:
    """Outside check: the times of verovio's own timemap are those of the file."""
    import verovio

    mixed = "C5:2/3 D5:1/3 E5:1/3 F5:2/3 G5:2/3 A5:2/3 B5:2/3"
    excerpt = score_from_bytes(bars_of(mixed), "test").part().passage("1").cut(0)
    source = prepare(excerpt)
    toolkit = verovio.toolkit()
    toolkit.loadData(source.xml.decode())
    found = {
        ident: Fraction(entry["qstamp"]).limit_denominator(100)
        for entry in toolkit.renderToTimemap()
        for ident in entry.get("on", ())
    }
    assert found == {ident: note.onset for ident, note in source.notes.items()}
