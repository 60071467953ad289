"""Bars of a part as they go on from line to line: nothing is said again (default tier)."""

from __future__ import annotations

from excerpts.score import open_score, score_from_bytes
from excerpts.score.continued import continued
from excerpts.system.resources import scores
from tests.music import bars_of
from tests.schema import schema_errors


def test_only_clef_and_key_are_printed_again() -> None:
    path = next(path for path in scores().iterdir() if path.stem == "gale-concerto-1")
    part = open_score(path).part("#1")
    later = continued(part, 8, 15)
    assert [bar.place for bar in later.bars] == list(range(9, 17))
    assert schema_errors(later.xml) == []
    measure = later.tree().find("part/measure")
    assert measure is not None
    assert measure.find("attributes/clef") is not None
    assert [time.get("print-object") for time in measure.iterfind("attributes/time")] == ["no"]
    source = part.bars.measures[8]
    assert len(measure.findall("direction")) == len(source.findall("direction"))
    cut = part.passage("@9-@16").cut(0)
    restated = {line.thing for line in cut.report if line.action == "restated"}
    assert restated - {line.thing for line in later.report} >= {"tempo"}


def test_at_a_change_of_time_the_signature_is_printed() -> None:
    path = next(path for path in scores().iterdir() if path.stem == "gale-concerto-1")
    part = open_score(path).part("#1")
    first = continued(part, 0, 3)
    assert [time.get("print-object") for time in first.tree().iterfind("part/measure/attributes/time")][
        :1
    ] == [None]


def test_accidentals_that_the_source_leaves_out_are_drawn_as_in_a_cut() -> None:
    """Two sharps are in force: C natural and its sharp again need a sign, and the file writes none."""
    part = score_from_bytes(bars_of("C5:1 C#5:1 D5:1 E5:1", "C#5:1 C5:1 D5:1 E5:1"), "test").part()
    signs = [[one.text for one in bars.tree().iter("accidental")] for bars in (
        continued(part, 0, 1), part.passage("1-2").cut(0)
    )]  # fmt: skip
    assert signs == [["natural", "sharp", "natural"]] * 2
